"""How far reading has come, beside what is told of each card: on standard error.

On a terminal one line that is written over; elsewhere, in a file or a pipe, a plain line for every
tenth page and for the last of a file.
"""

import sys
from collections.abc import Iterable, Iterator
from typing import Protocol, TypeVar

import click

EVERY = 10
"""Pages between two plain lines."""
CLEAR_LINE = "\r\x1b[K"


class OnPage(Protocol):
    """A page that was read: counted from 1, of how many, with its cards."""

    @property
    def number(self) -> int:
        """Counted from 1."""

    @property
    def pages(self) -> int:
        """Of how many."""

    @property
    def cards(self) -> tuple[object, ...]:
        """What was found on it."""


Page = TypeVar("Page", bound=OnPage)


class Progress:
    """Counts cards over all files."""

    def __init__(self) -> None:
        self.cards = 0
        self.terminal = sys.stderr.isatty()

    def over(self, name: str, pages: Iterable[Page]) -> Iterator[Page]:
        """The pages of a file; where it stands is told once each has been dealt with."""
        for page in pages:
            if self.terminal:
                click.echo(CLEAR_LINE, nl=False, err=True)
            yield page
            self.cards += len(page.cards)
            self._tell(name, page.number, page.pages)
        if self.terminal:
            click.echo(CLEAR_LINE, nl=False, err=True)

    def _tell(self, name: str, number: int, pages: int) -> None:
        line = f"{name}: {number} of {pages} pages, {self.cards} cards so far"
        if self.terminal:
            click.echo(line, nl=False, err=True)
        elif number == pages or number % EVERY == 0:
            click.echo(line, err=True)
