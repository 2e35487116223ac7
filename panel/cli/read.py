"""`panel read`: photographed and scanned cards become ballots, or questions to a person."""

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from panel.cli.local import OPERATOR, chosen, content, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.cli.progress import Progress
from panel.cli.side_by_side import side_by_side
from panel.cli.trial import run_trial
from panel.core.errors import PanelError
from panel.services.read_cards import PageRead, read_cards
from panel.services.workplace import Workplace

WAITING = 3
"""Exit status: everything was read, and something waits for a person."""


@click.command()
@click.argument("comparison")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--truth",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A trial: score the reader against this sheet of what people see. Nothing is taken.",
)
@instance_option
def read(
    comparison: str, files: tuple[Path, ...], truth: Path | None, instance: Path | None
) -> None:
    """Read pictures of ballot cards into a comparison that is being served.

    COMPARISON is its id, or how its title begins. FILES are photographs (JPEG, PNG) or scans (PDF,
    TIFF), any number of cards on a page, any way up. A card whose marks are all clear becomes a
    ballot; every other one is named with the reason, and waits on the steward's page for somebody
    to look at it. Exit status 3 if any card or file waits for a person.

    With --truth no ballot is taken and nothing is kept: what is read is compared with the sheet,
    place by place. Exit status 3 if a place was read wrongly and nobody would have been asked.

    \b
    Example: panel read "Brown ale" cards.pdf
    """
    with workplace_at(settings_from(instance)) as at:
        known = chosen(at, comparison)
        if truth is not None:
            fine = run_trial(at, known.id, truth, files)
        else:
            fine = _read_into(at, known.id, files)
    if not fine:
        sys.exit(WAITING)


def _read_into(at: Workplace, comparison_id: str, files: tuple[Path, ...]) -> bool:
    """Whether nothing waits for a person."""
    taken = waiting = 0
    progress = Progress()

    def pages_of(file: Path) -> Iterator[PageRead]:
        yield from read_cards(at, OPERATOR, comparison_id, content(file))

    for file, pages in side_by_side(files, pages_of):
        try:
            for page in progress.over(file.name, pages):
                ballots, doubts = _told(file.name, page)
                taken, waiting = taken + ballots, waiting + doubts
        except PanelError as refusal:
            click.echo(f"{file.name}: {refusal.message}")
            waiting += 1
    click.echo(f"{taken} cards taken, {waiting} for a person to look at.")
    return waiting == 0


def _told(name: str, page: PageRead) -> tuple[int, int]:
    """Says what came of a page; how many ballots, and how many things for a person."""
    where = name if page.pages == 1 else f"{name}, page {page.number}"
    if not page.cards:
        click.echo(f"{where}: no card was found on it.")
        return 0, 1
    for card in page.cards:
        if card.receipt is not None:
            click.echo(f"{where}: card {card.card} taken, {card.receipt.copy.value}.")
        else:
            reasons = " ".join(str(doubt) for doubt in card.doubts)
            click.echo(f"{where}: card {card.card or '?'} waits for a person. {reasons}")
    taken = sum(card.receipt is not None for card in page.cards)
    return taken, len(page.cards) - taken
