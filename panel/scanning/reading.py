"""What the reader gives back: answers that are clear, and questions to a person about the rest."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from panel.core.message import Message
from panel.core.paper.card_parts import CardLayout
from panel.core.questions import Answer, Question
from panel.scanning.projective import Picture
from panel.scanning.read_marks import PlaceReading
from panel.scanning.straighten import Cutting


@dataclass(frozen=True, kw_only=True)
class CardKnown:
    """What the caller knows of a code's card: its layout, its questions, the tray's codes in
    serving order, the number as printed ("17 K")."""

    layout: CardLayout
    questions: tuple[Question, ...]
    codes: tuple[str, ...]
    number: str


Known = Callable[[str], CardKnown | None]
"""From the text of a QR code to its card. None: no card of this kit. A PanelError that it raises
(say, for a card of an earlier print) becomes the reading's refusal in its own words."""


class Reason(StrEnum):
    """Why something is put before a person."""

    STRANGE = "strange"  # the code belongs to no card that is expected here
    REFUSED = "refused"  # the caller refuses this card by name
    MIRRORED = "mirrored"
    CORNERS = "corners"  # too few corner marks
    BENT = "bent"  # marks and code disagree
    FAINT = "faint"  # outlines too weak
    PALE = "pale"  # too little contrast
    TWO_TONE = "two-tone"  # black and white without grey: pencil may have vanished
    CROWDED = "crowded"  # more marks than a ballot can have
    UNSURE = "unsure"  # a place is neither clearly empty nor clearly marked
    OVER_MARKED = "over-marked"  # too many marks, or marks that contradict one another
    INCOMPLETE = "incomplete"  # some cups have no answer
    BLANK = "blank"  # nothing marked where an answer is required
    LONE_SQUARE = "lone-square"  # a small square is filled, the ring beside it is not


@dataclass(frozen=True, kw_only=True)
class OpenQuestion:
    """One thing a person has to look at.

    `question`: id of the ballot's question, None if it is about the whole card. `places`: indices
    of the places in doubt in the reading's `places`.
    """

    question: str | None
    reason: Reason
    message: Message
    places: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class CardReading:
    """One card on one page.

    `text`: what the QR code holds. `answers`: only the questions that are clear. `open`: what a
    person has to decide; while it is not empty the card is no ballot. `residual` in millimetres,
    `contrast` 0 to 1, `outlines` the median strength; None where reading did not come so far.
    `corners`: of the part handed in, in pixels of the page, clockwise from the upper left.
    `cutting`: what `crop` is made from.
    """

    text: str
    number: str | None
    answers: Mapping[str, Answer]
    open: tuple[OpenQuestion, ...]
    places: tuple[PlaceReading, ...] = ()
    corner_marks: int = 0
    residual: float | None = None
    contrast: float | None = None
    outlines: float | None = None
    corners: tuple[tuple[float, float], ...] = ()
    cutting: Cutting | None = None
    version: str

    @property
    def crop(self) -> Picture | None:
        """The part handed in, straightened (grey), made when it is first asked for; None if the
        code is not of this kit."""
        return None if self.cutting is None else self.cutting.straight

    @property
    def token(self) -> str:
        """The last part of the code's address: the tray's token, if it is one of our codes."""
        return self.text.rstrip("/").rpartition("/")[2].upper()

    @property
    def settled(self) -> bool:
        """Whether nothing is left to a person."""
        return not self.open
