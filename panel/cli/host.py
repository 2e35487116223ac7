"""`panel host`: the service on this machine, until it is told to stop."""

from pathlib import Path

import click
from flask import Flask

from panel.app import broken_chains_of, close, create_app, serve_app, workplace_of
from panel.cli.local import workplace_at
from panel.cli.options import instance_option, settings_from
from panel.services.reach import OwnAddresses, no_phone_reaches, own_addresses
from panel.services.sign_in import first_link, set_up_link
from panel.services.workplace import durability_cautions
from panel.settings import Settings


@click.command()
@instance_option
@click.option("--host", help="Where to listen; 0.0.0.0 lets phones in the room connect.")
@click.option("--port", type=click.IntRange(0, 65535), help="[default: 8000]")
@click.option("--address", help="What the cards' codes print, e.g. http://192.168.1.20:8000")
@click.option(
    "--new-link",
    is_flag=True,
    help="Only print a one-time link: for one more organiser, or a new password for a known one.",
)
def host(
    instance: Path | None,
    host: str | None,
    port: int | None,
    address: str | None,
    new_link: bool,
) -> None:
    """Run the service on this machine.

    The first time it prints a one-time link with which the first organiser sets a password. Stop
    it with Ctrl-C: nothing that was acknowledged is lost.

    \b
    Example: panel host --host 0.0.0.0 --address http://192.168.1.20:8000
    """
    settings = settings_from(instance, host=host, port=port, address=address)
    if new_link:
        with workplace_at(settings) as at:
            click.echo(
                "Open this once, within a day, to make one more organiser, or to give the one of "
                f"that name a new password: {settings.address}/set-up/{set_up_link(at)}"
            )
        return
    run(create_app(settings, addresses=own_addresses), settings)


def run(app: Flask, settings: Settings, addresses: OwnAddresses = own_addresses) -> None:
    """Serves an application, saying how to sign in and where it can be reached.

    addresses: finds where this machine may be reached from the room.
    """
    at = workplace_of(app)

    def ready(port: int) -> None:
        here = f"http://127.0.0.1:{port}"
        for broken in broken_chains_of(app):
            click.echo(f"Mind: {broken.sentence()}")
        for caution in durability_cautions(at):
            click.echo(f"Mind: {caution}")
        link = first_link(at)
        if link is not None:
            click.echo(f"To sign in, set a name and a password here, once: {here}/set-up/{link}")
        else:
            click.echo(f"Sign in at {here}/sign-in with the name and password you have set.")
        click.echo(f"Panel is ready at {here}")
        alone = no_phone_reaches(settings, addresses)
        if alone is None:
            click.echo(f"Phones reach it at {settings.address}; try {settings.address}/reach")
        else:
            click.echo(f"Mind: {alone}")
        click.echo("Stop it with Ctrl-C.")

    try:
        serve_app(app, settings, ready)
    finally:
        close(app)
