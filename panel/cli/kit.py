"""`panel kit`: the sheets of a sitting as PDF files in a folder."""

import re
import sys
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from panel.cli.local import OPERATOR, chosen, fresh_folder, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.core.comparison import Comparison, Sitting
from panel.services import print_kit
from panel.services.workplace import Actor, Workplace

MANY_PAGES = 40
Progress = Callable[[int, int], None]


@click.command()
@click.argument("comparison")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="A new folder.")
@click.option("--sitting", help="The sitting's name; all of them if left out.")
@click.option("--all", "everything", is_flag=True, help="Sheets on request too.")
@instance_option
def kit(
    comparison: str, out: Path, sitting: str | None, everything: bool, instance: Path | None
) -> None:
    """Print the sheets of a sealed comparison's sittings into a folder.

    COMPARISON is its id, or how its title begins. Sheets that show which cup is which are for the
    pourer alone: delete them when they are printed.

    \b
    Example: panel kit "Brown ale" --out kit
    """
    with workplace_at(settings_from(instance)) as at:
        known = chosen(at, comparison)
        wanted = [one for one in known.sittings if sitting in (None, one.name, one.id)]
        if not wanted:
            names = ", ".join(one.name for one in known.sittings)
            raise click.UsageError(f"There is no sitting “{sitting}”. There are: {names}.")
        folder = fresh_folder(out)
        for one in wanted:
            write_kit(at, OPERATOR, known, one, folder, everything=everything)


def write_kit(
    at: Workplace,
    actor: Actor,
    known: Comparison,
    sitting: Sitting,
    folder: Path,
    *,
    everything: bool,
) -> None:
    """Writes each sheet of a sitting as its own PDF, saying what it is and for whom."""
    listed = print_kit.contents(at, actor, known.id, sitting.id)
    wanted = [sheet for sheet in listed if everything or not sheet.on_request]
    pages = sum(sheet.pages for sheet in wanted)
    click.echo(f"{sitting.name}: {pages} pages in {len(wanted)} files")
    for sheet in wanted:
        path = folder / f"{file_word(sitting.name)}-{sheet.name}.pdf"
        make = print_kit.key_sheet if sheet.shows_key else print_kit.sheet
        with _progress(sheet.pages, sheet.name) as done:
            made = make(at, actor, known.id, sitting.id, sheet.name, progress=done)
        path.write_bytes(made.pdf)
        click.echo(f"  {path.name}  {sheet.pages} p., {sheet.who}")


@contextmanager
def _progress(pages: int, name: str) -> Iterator[Progress | None]:
    """A bar on a person's screen while a sheet of many pages is made."""
    if pages < MANY_PAGES or not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=pages, label=f"  {name}", file=sys.stderr) as bar:
        yield lambda done, _all: bar.update(done - bar.pos)


def file_word(name: str) -> str:
    """A name as a part of a file name: plain lower-case letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-") or "sitting"
