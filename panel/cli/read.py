"""`panel read`: photographed and scanned cards become ballots, or questions to a person."""

import sys
from pathlib import Path

import click

from panel.cli.local import OPERATOR, chosen, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.services.read_cards import PageRead, read_cards

WAITING = 3
"""Exit status: everything was read, and something waits for a person."""


@click.command()
@click.argument("comparison")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@instance_option
def read(comparison: str, files: tuple[Path, ...], instance: Path | None) -> None:
    """Read pictures of ballot cards into a comparison that is being served.

    COMPARISON is its id, or how its title begins. FILES are photographs (JPEG, PNG) or scans (PDF,
    TIFF), any number of cards on a page, any way up. A card whose marks are all clear becomes a
    ballot; every other one is named with the reason, and waits on the steward's page for somebody
    to look at it. Exit status 3 if any card or file waits for a person.

    \b
    Example: panel read "Brown ale" cards.pdf
    """
    taken = waiting = 0
    with workplace_at(settings_from(instance)) as at:
        known = chosen(at, comparison)
        for file in files:
            try:
                for page in read_cards(at, OPERATOR, known.id, content(file)):
                    ballots, doubts = _told(file.name, page)
                    taken, waiting = taken + ballots, waiting + doubts
            except PanelError as refusal:
                click.echo(f"{file.name}: {refusal.message}")
                waiting += 1
    click.echo(f"{taken} cards taken, {waiting} for a person to look at.")
    if waiting:
        sys.exit(WAITING)


def content(file: Path) -> bytes:
    """What is in a file; PanelError (fault PLACE) if it cannot be read."""
    try:
        return file.read_bytes()
    except OSError as failure:
        raise PanelError(
            "file-not-read",
            say("It cannot be read: %(why)s.", why=failure.strerror or ""),
            Fault.PLACE,
        ) from failure


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
