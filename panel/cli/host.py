"""`panel host`: the service on this machine, until it is told to stop."""

import os
from pathlib import Path

import click
from flask import Flask

from panel.app import close, create_app
from panel.services.sign_in import first_link
from panel.settings import Settings, load, on_this_machine_only
from panel.web.place import KEY
from panel.web.serve import serve


@click.command()
@click.option(
    "--instance",
    type=click.Path(path_type=Path, file_okay=False),
    help="The folder of this installation. [default: instance]",
)
@click.option("--host", help="Where to listen; 0.0.0.0 lets phones in the room connect.")
@click.option("--port", type=click.IntRange(0, 65535), help="[default: 8000]")
@click.option("--address", help="What the cards' codes print, e.g. http://192.168.1.20:8000")
def host(instance: Path | None, host: str | None, port: int | None, address: str | None) -> None:
    """Run the service on this machine.

    The first time it prints a one-time link with which the first organiser sets a password. Stop
    it with Ctrl-C: nothing that was acknowledged is lost.
    """
    settings = settings_from(instance, host, port, address)
    run(create_app(settings), settings)


def settings_from(
    instance: Path | None, host: str | None, port: int | None, address: str | None
) -> Settings:
    """The settings of an installation, with what the command line says on top."""
    given = {"PANEL_HOST": host, "PANEL_PORT": port, "PANEL_ADDRESS": address}
    typed = {name: str(value) for name, value in given.items() if value is not None}
    return load({**os.environ, **typed}, instance)


def run(app: Flask, settings: Settings) -> None:
    """Serves an application, saying where it can be reached."""

    def ready(port: int) -> None:
        here = f"http://127.0.0.1:{port}"
        link = first_link(app.extensions[KEY])
        if link is not None:
            click.echo(f"Set the first password here, once: {here}/set-up/{link}")
        click.echo(f"Panel is ready at {here}")
        if not on_this_machine_only(settings):
            click.echo(f"Phones reach it at {settings.address}")
        click.echo("Stop it with Ctrl-C.")

    try:
        serve(app, settings.host, settings.port, ready)
    finally:
        close(app)
