"""The rings in which cups stand: heavy for the first jug, thin and double for the second.

Told apart in grey, at arm's length, with wet hands: by weight and by number of lines. More than
two jugs are numbered rings.
"""

from dataclasses import dataclass

from panel.core.drawing import POINT, Anchor, Circle, Face, Shape, Text
from panel.core.errors import PanelError
from panel.core.message import Number, say

HEAVY = 1.7
THIN = 0.35
CLEAR = 1.0
"""Millimetres between a cup's base and the inner edge of its ring, all around."""

SMALLEST_BASE, LARGEST_BASE, WIDEST_RIM = 15.0, 90.0, 110.0


@dataclass(frozen=True)
class CupSize:
    """A cup in millimetres: across its base, and across at its widest (never less)."""

    base: float = 32.0
    rim: float = 37.0

    def __post_init__(self) -> None:
        if not SMALLEST_BASE <= self.base <= LARGEST_BASE:
            raise PanelError(
                "cup-base",
                say(
                    "A cup's base is between %(least)s and %(most)s mm across. Measure it again.",
                    least=Number(SMALLEST_BASE, 0),
                    most=Number(LARGEST_BASE, 0),
                ),
                field="base",
            )
        if not self.base <= self.rim <= WIDEST_RIM:
            raise PanelError(
                "cup-rim",
                say(
                    "A cup is nowhere narrower than its base, and at most %(most)s mm wide. "
                    "Measure it at its widest.",
                    most=Number(WIDEST_RIM, 0),
                ),
                field="rim",
            )

    @property
    def ring(self) -> float:
        """The outer diameter of its ring."""
        return self.base + 2 * (CLEAR + HEAVY)

    @property
    def pitch(self) -> float:
        """The least distance from one cup's middle to the next."""
        return max(self.ring + 0.6, self.rim + 0.5)


def jug_ring(x: float, y: float, ring: float, jug: int) -> tuple[Shape, ...]:
    """The ring of outer diameter `ring` for a cup filled from the jug of that number, from 1."""
    outer = ring / 2
    if jug == 1:
        return (Circle(x=x, y=y, radius=outer - HEAVY / 2, width=HEAVY),)
    double = (
        Circle(x=x, y=y, radius=outer - THIN / 2, width=THIN),
        Circle(x=x, y=y, radius=outer - HEAVY + THIN / 2, width=THIN),
    )
    if jug == 2:
        return double
    size = min(24.0, 1.7 * ring)
    number = Text(
        x=x,
        y=y + size * 0.33 * POINT,
        text=str(jug),
        size=size,
        face=Face.TITLE,
        anchor=Anchor.MIDDLE,
    )
    return (*double, number)


def plain_ring(x: float, y: float, ring: float) -> Circle:
    """The ring of a cup on a mat that tells nothing: the same for every cup."""
    return Circle(x=x, y=y, radius=ring / 2 - THIN, width=2 * THIN)
