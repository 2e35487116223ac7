"""Is the record whole? Every chain is gone through from its first line whenever the service starts.

All of it each time, not only what is new: an old line is what somebody would change, and 100,000
lines (some 200 comparisons) take about a second and a half (docs/decisions/0009).
"""

from dataclasses import dataclass

from panel.core.message import Message, say
from panel.core.record import INSTANCE
from panel.services.workplace import Workplace
from panel.store import comparisons, records


@dataclass(frozen=True)
class BrokenChain:
    """A chain that is not as it was written, and the first line, from 1, that shows it. `title` is
    that of the comparison, "" for the chain of the installation."""

    chain: str
    title: str
    line: int

    def sentence(self) -> Message:
        """What whoever runs the service must know."""
        if self.chain == INSTANCE:
            return say(
                "The record of this installation is not as it was written, from line %(line)s on: "
                "the database was changed by something else than Panel, or is damaged. Keep a copy "
                "of it, and go back to a backup if you can.",
                line=self.line,
            )
        return say(
            "The record of “%(title)s” is not as it was written, from line %(line)s on: the "
            "database was changed by something else than Panel, or is damaged. Keep a copy of it; "
            "its result cannot be proven any more.",
            title=self.title or self.chain,
            line=self.line,
        )


def broken_chains(at: Workplace) -> tuple[BrokenChain, ...]:
    """Every chain that breaks; () where all are whole."""
    with at.units.read() as session:
        broken = {
            chain: line
            for chain in records.chains(session)
            if (line := records.verify(session, chain)) is not None
        }
        titles = {one.id: one.title for one in comparisons.every(session)} if broken else {}
    return tuple(BrokenChain(chain, titles.get(chain, ""), line) for chain, line in broken.items())
