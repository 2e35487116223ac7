"""One figure of a beer's batch sheet."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """What was measured on the beer of that letter, such as "final gravity", 1.012, "SG"."""

    letter: str
    name: str
    value: Decimal
    unit: str = ""
