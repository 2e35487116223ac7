"""What every section of a report is made from, and how its words become blocks."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from panel.core.comparison import Comparison
from panel.core.message import Message, Speak, say
from panel.core.result import Result
from panel.core.wording import (
    Row,
)
from panel.printing.blocks import Block, space
from panel.publishing.conditions import NOT_RECORDED
from panel.publishing.report.edition import Edition
from panel.publishing.report.setting import (
    TEXT,
    facts,
    sentences,
    subheading,
    words,
)


@dataclass(frozen=True)
class Told:
    """What a section is made from."""

    result: Result
    comparison: Comparison
    edition: Edition
    room: float
    speak: Speak

    def words(self, message: Message) -> Block:
        """One sentence as a paragraph."""
        return words(self.speak(message), self.room, TEXT)

    def held(self, message: Message) -> Block:
        """The same, not to be parted from what follows."""
        return replace(self.words(message), keep=True)

    def all_words(self, messages: Iterable[Message]) -> Block:
        """Several as one."""
        return words(sentences(messages, self.speak), self.room, TEXT)

    def rows(self, rows: Iterable[Row], share: float = 0.4) -> list[Block]:
        """Labels and values."""
        return [*facts(rows, self.room, self.speak, share), space(1.5)]

    def sub(self, message: Message) -> Block:
        """A heading within the section."""
        return subheading(self.speak(message), self.room)


def typed(text: str) -> Message:
    """What somebody typed, or that nobody did."""
    return say("%(text)s", text=text) if text.strip() else NOT_RECORDED
