"""`panel publish`: a published result as one static folder."""

from pathlib import Path

import click

from panel.cli.local import OPERATOR, chosen, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.core.licences import LICENCES
from panel.services.addresses import lasting_link
from panel.services.show_result import Wishes, publish_static


@click.command()
@click.argument("comparison")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="Where to write it.")
@click.option(
    "--licence",
    type=click.Choice(tuple(LICENCES)),
    help="Under which the data may be used. [default: the installation's setting]",
)
@click.option(
    "--free-words",
    is_flag=True,
    help="Give what tasters wrote in their own words too. Read it first: it may name somebody.",
)
@instance_option
def publish(
    comparison: str, out: Path, licence: str | None, free_words: bool, instance: Path | None
) -> None:
    """Write a published result as one folder that works from any web space or memory stick.

    COMPARISON is its id, or how its title begins. Open index.html in the folder; report.pdf is to
    be printed, picture.png to be shared, and bundle.zip holds the data and can be checked with
    `panel check`. With the setting `lasting_address` the result names the address there. What is
    already in the folder is written over only if it is an earlier result of the same comparison.

    \b
    Example: panel publish "Brown ale" --out result
    """
    with workplace_at(settings_from(instance)) as at:
        known = chosen(at, comparison)
        wishes = Wishes(licence=licence or at.settings.licence, free_words=free_words)
        files = publish_static(at, OPERATOR, known.id, out, wishes)
        stays = lasting_link(at.settings, known)
        moves = bool(at.settings.lasting_address)
    click.echo(f"{len(files)} files in {out}; open {out / 'index.html'}")
    if moves:
        click.echo(f"Cards and poster name {stays}: put what is in the folder there.")
