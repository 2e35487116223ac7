"""`panel rehearse`: an evening to try, of which nothing is kept."""

import tempfile
from dataclasses import replace
from pathlib import Path

import click

from panel.app import create_app, workplace_of
from panel.catalogue import speaker
from panel.cli.host import run
from panel.cli.local import OPERATOR, chosen, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.core.message import say
from panel.services.reach import own_addresses
from panel.services.rehearse import rehearsal_of


@click.command()
@click.argument("comparison")
@click.option("--host", help="Where to listen; 0.0.0.0 lets phones in the room connect.")
@click.option("--port", type=click.IntRange(0, 65535), help="[default: 8000]")
@click.option("--address", help="What the cards' codes print, e.g. http://192.168.1.20:8000")
@instance_option
def rehearse(
    comparison: str,
    host: str | None,
    port: int | None,
    address: str | None,
    instance: Path | None,
) -> None:
    """Try an evening with water: real pages, sheets and phones, and nothing is kept.

    COMPARISON is an id, or how its title begins. Its question is copied into a service of its own,
    where you seal, print, serve, close and read as you will on the day. Codes and orders are drawn
    anew, so nothing of the real ones is seen. Ctrl-C ends it and throws everything away. Stop
    `panel host` first, or take another port.

    \b
    Example: panel rehearse "Warm or cool" --host 0.0.0.0 --address http://192.168.1.20:8000
    """
    settings = settings_from(instance, host=host, port=port, address=address)
    speak = speaker(settings.language)
    with workplace_at(settings) as at:
        known = chosen(at, comparison)
    with tempfile.TemporaryDirectory(prefix="panel-rehearsal-") as folder:
        there = replace(
            settings,
            instance=Path(folder),
            database_url=f"sqlite:///{Path(folder) / 'panel.db'}",
            guild=speak(say("Rehearsal")),  # heads every page
            lasting_address="",
        )
        app = create_app(there, addresses=own_addresses)
        started = rehearsal_of(known, workplace_of(app), OPERATOR, speak)
        click.echo(f"A rehearsal of: {known.title}")
        click.echo(f"It stands at {there.address}/organise/{started.id}/check")
        run(app, there)
    click.echo("The rehearsal is over. Nothing of it was kept; throw its sheets away.")
