"""Every number by which the reader decides, in one place; docs/scanning.md quotes them from here.

Chosen on one half of a simulated corpus, looked at on the other (docs/scanning.md says how).
"""

from dataclasses import dataclass, field, fields
from functools import cache
from hashlib import sha256


def _of(value: float, says: str) -> float:
    """A threshold with what it decides, in words for the docs."""
    chosen: float = field(default=value, metadata={"says": says})
    return chosen


@dataclass(frozen=True)
class Thresholds:
    """What separates empty, unsure and marked, and what a whole card must have to be read.

    Cover is the share of a place's inside that is dark; darkness is a share of the way from the
    paper around the place to the card's own black, which is measured in its QR code.
    """

    ink_share: float = _of(0.30, "a point is dark from this darkness on")
    empty_below: float = _of(0.06, "cover below which a place is empty")
    marked_above: float = _of(0.22, "cover above which a ring is marked")
    square_marked_above: float = _of(0.50, "cover above which a small square is marked")
    pale_most: float = _of(
        0.10, "of an empty place, the most that may be half as dark as ink_share"
    )
    depth_least: float = _of(
        0.355, "darkness that the darker tenth of a marked place must have: less may be rubbed out"
    )
    through_below: float = _of(
        0.75, "cover below which a straight line between two opposite exits passes through"
    )
    line_share: float = _of(0.85, "share of a place's ink that such a line must be")
    lines_share: float = _of(
        0.95, "share on all such lines from which a place is a cross, not full"
    )
    stroke_least: float = _of(0.80, "half widths that a thin stroke must be long to be no dot")
    rim_from: float = _of(0.60, "half widths from the middle where a line's end is at the rim")
    bend_least: float = _of(0.12, "half widths of spread below which a stroke is straight")
    exit_share: float = _of(0.20, "darkness from which something leaves a place")
    struck_above: float = _of(0.45, "cover from which strokes beyond a ring are looked at")
    struck_from: float = _of(0.80, "and from which they cross it out even if it could be a cross")
    band_most: float = _of(0.20, "dark share of the surroundings from which a place is unsure")
    band_most_empty: float = _of(0.12, "the same of an empty ring, and of a square that ink leaves")
    circle_most: float = _of(0.35, "share of a round around an empty ring with a trace of a circle")
    filled_above: float = _of(0.60, "cover from which a place is so full that")
    band_most_filled: float = _of(0.45, "this share of its surroundings may be dark")
    tone_of_print: float = _of(
        0.70, "darkness of the printed rings from which a picture is darkened"
    )
    outline_least: float = _of(3.0, "strength of outline, of a place and its neighbours")
    own_outline_least: float = _of(5.0, "strength of its own outline that an empty place must have")
    line_least: float = _of(0.33, "of the middle darkness of the card's outlines, its own")
    outline_apart_most: float = _of(0.90, "millimetres between that outline and where others say")
    own_anchor_from: float = _of(0.35, "cover from which a mark's own ink says where its place is")
    contrast_least: float = _of(0.30, "contrast of the card, from its QR code")
    grey_least: float = _of(0.01, "share of the page that is neither black nor white")
    corner_marks_least: float = _of(3, "corner marks of four")
    residual_most: float = _of(1.5, "millimetres of disagreement of corner marks and code")
    tilt_most: float = _of(1.5, "how much nearer one corner may be to the camera than another")
    outlines_median_least: float = _of(6.5, "middle strength of a card's outlines")
    confirmed_least: float = _of(0.70, "share of a card's white places whose outline is seen")
    confirmed_apart_most: float = _of(0.60, "and within these millimetres of where others say")
    confirmed_count_least: float = _of(3, "and at least so many places")
    marks_beyond: float = _of(2, "filled rings beyond what the questions can need")


THRESHOLDS = Thresholds()


def threshold_table() -> str:
    """All thresholds as a table in Markdown, for the docs and for whoever asks."""
    rows = [
        f"| `{one.name}` | {one.default:g} | {one.metadata['says']} |" for one in fields(THRESHOLDS)
    ]
    return "\n".join(["| name | value | what it decides |", "|---|---|---|", *rows])


@cache
def reader_version() -> str:
    """The version of the reader and a fingerprint of its thresholds, kept with every reading."""
    values = ",".join(f"{one.name}={one.default!r}" for one in fields(THRESHOLDS))
    return f"1-{sha256(values.encode()).hexdigest()[:8]}"
