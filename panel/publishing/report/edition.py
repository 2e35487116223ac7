"""What a report says of itself: whose it is, where it stands for good, and by which program."""

from dataclasses import dataclass
from datetime import datetime

from panel.core.names import Paper
from panel.core.typed_address import typed


@dataclass(frozen=True, kw_only=True)
class Edition:
    """An edition of a report.

    link: where the result stands for good, whole. software: "panel 1.2". published: when (UTC),
    None for a draft that only organisers see. seal_holds: whether plan, key and secret make the
    seal again, None where it was not tried.
    """

    link: str
    software: str
    paper: Paper = Paper.A4
    language: str = "en"
    published: datetime | None = None
    seal_holds: bool | None = None

    @property
    def address(self) -> str:
        """Where it stands, as people type it."""
        return typed(self.link)

    @property
    def draft(self) -> bool:
        """Whether it may not be handed on yet."""
        return self.published is None
