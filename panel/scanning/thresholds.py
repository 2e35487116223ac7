"""Every number by which the reader decides, in one place; docs/scanning.md quotes them from here.

Chosen on one half of a simulated corpus, looked at on the other (docs/scanning.md says how).
"""

from dataclasses import dataclass, fields
from functools import cache
from hashlib import sha256


@dataclass(frozen=True)
class Thresholds:
    """What separates empty, unsure and marked, and what a whole card must have to be read.

    Cover is the share of a place's inside that is darker than `ink_share` of the way from the
    paper around it to the card's own black, which is measured in its QR code.
    """

    ink_share: float = 0.30
    empty_below: float = 0.06
    marked_above: float = 0.22
    square_marked_above: float = 0.35
    depth_least: float = 0.42
    pale_most: float = 0.10
    through_below: float = 0.75
    band_most: float = 0.20
    band_most_filled: float = 0.45
    filled_above: float = 0.60
    outline_least: float = 3.0
    own_outline_least: float = 5.0
    outline_apart_most: float = 0.90
    confirmed_apart_most: float = 0.60
    own_anchor_from: float = 0.35
    contrast_least: float = 0.30
    corner_marks_least: int = 3
    residual_most: float = 1.5
    outlines_median_least: float = 6.5
    confirmed_least: float = 0.70
    confirmed_count_least: int = 3
    tilt_most: float = 1.5
    marks_beyond: int = 2
    grey_least: float = 0.01


THRESHOLDS = Thresholds()


@cache
def reader_version() -> str:
    """The version of the reader and a fingerprint of its thresholds, kept with every reading."""
    values = ",".join(f"{one.name}={getattr(THRESHOLDS, one.name)}" for one in fields(THRESHOLDS))
    return f"1-{sha256(values.encode()).hexdigest()[:8]}"
