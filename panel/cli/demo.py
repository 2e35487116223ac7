"""`panel demo`: an invented evening, from first idea to published result."""

import json
import tempfile
import tomllib
from pathlib import Path
from typing import Any

import click

import panel
from panel.app import create_app, workplace_of
from panel.cli.host import run
from panel.cli.kit import write_kit
from panel.cli.local import fresh_folder, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.core.comparison import Comparison
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role
from panel.services import plan_comparison
from panel.services.play_event import play
from panel.services.reach import own_addresses
from panel.services.show_result import publish_static
from panel.services.workplace import Actor, Workplace

EVENT = Path(panel.__file__).parents[1] / "demo_event" / "event.toml"
"""Beside the program in a checkout as in an installed package."""


@click.command()
@click.option("--no-serve", is_flag=True, help="Only write what it makes into a folder, and stop.")
@click.option("--out", type=click.Path(path_type=Path), help="With --no-serve: a new folder.")
@click.option("--port", type=click.IntRange(0, 65535), help="Where to serve. [default: 8000]")
@instance_option
def demo(no_serve: bool, out: Path | None, port: int | None, instance: Path | None) -> None:
    """Play an invented evening and look at everything it makes.

    Two split batches, four sittings, some mishaps; everything is made up. Without options it is
    played in the instance folder (once) and served on this machine. With --no-serve it writes
    sheets, findings and the published result into a folder and touches nothing else.

    \b
    Example: panel demo --no-serve --out evening
    """
    if no_serve != (out is not None):
        raise click.UsageError("Give --no-serve and --out together, or neither.")
    if out is not None:
        _write(fresh_folder(out))
        return
    settings = settings_from(instance, port=port)
    app = create_app(settings, addresses=own_addresses)
    known = played(workplace_of(app))
    click.echo(f"An invented evening is here: {known.title}")
    click.echo(f"Its published result: {settings.address}/r/{known.slug}")
    run(app, settings)


def invented_event() -> dict[str, Any]:
    """The event as data; PanelError (fault PLACE) where it was not installed."""
    if not EVENT.exists():
        raise PanelError(
            "no-demo-event",
            say(
                "The invented evening is not there: %(file)s is missing. Install Panel again, or "
                "run it from a whole copy of its source.",
                file=str(EVENT),
            ),
            Fault.PLACE,
        )
    return tomllib.loads(EVENT.read_text(encoding="utf-8"))


def played(at: Workplace) -> Comparison:
    """The event's comparison; played now unless it is there already."""
    event = invented_event()
    actor = _organiser(event)
    for known in plan_comparison.every(at, actor):
        if known.title == event["comparison"]["title"] and known.published is not None:
            return known
    return play(at, actor, event)


def _organiser(event: dict[str, Any]) -> Actor:
    return Actor(Role.ORGANISER, event["organiser"], name=event["organiser"])


def _write(out: Path) -> None:
    """Everything the evening makes, from a database that is thrown away afterwards."""
    event = invented_event()
    actor = _organiser(event)
    with tempfile.TemporaryDirectory() as folder:
        click.echo("Playing an invented evening …")
        with workplace_at(settings_from(Path(folder), alone=True)) as at:
            known = play(at, actor, event)
            (out / "kit").mkdir()
            for sitting in known.sittings:
                write_kit(at, actor, known, sitting, out / "kit", everything=True)
            publish_static(at, actor, known.id, out / "result")
    findings = json.loads((out / "result" / "findings.json").read_text(encoding="utf-8"))
    text = json.dumps(findings, ensure_ascii=False, indent=2, allow_nan=False)
    (out / "findings.json").write_text(f"{text}\n", encoding="utf-8")
    click.echo(f"Everything is in {out}; open {out / 'result' / 'index.html'}")
