"""`panel publish`: a published result as one static folder."""

from pathlib import Path

import click

from panel.cli.local import OPERATOR, chosen, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.services.show_result import publish_static


@click.command()
@click.argument("comparison")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="Where to write it.")
@instance_option
def publish(comparison: str, out: Path, instance: Path | None) -> None:
    """Write a published result as one folder that works from any web space or memory stick.

    COMPARISON is its id, or how its title begins. Open index.html in the folder. What is already
    there is written over only if it is an earlier result of the same comparison.

    \b
    Example: panel publish "Brown ale" --out result
    """
    with workplace_at(settings_from(instance)) as at:
        files = publish_static(at, OPERATOR, chosen(at, comparison).id, out)
    click.echo(f"{len(files)} files in {out}; open {out / 'index.html'}")
