"""The tests whose guessing level and link to d-prime are known, as data.

Standard library only, so that a method can name its link without loading numpy.
"""

from fractions import Fraction
from typing import Literal

Link = Literal[
    "triangle", "duo-trio", "2-afc", "3-afc", "tetrad", "tetrad-specified", "two-out-of-five"
]

# Share of correct answers by guessing: one odd cup of three, one of two, one of three, two groups
# of two (three ways), two named cups of four (six ways), and a group of two in five (ten ways).
CHANCE: dict[Link, Fraction] = {
    "triangle": Fraction(1, 3),
    "duo-trio": Fraction(1, 2),
    "2-afc": Fraction(1, 2),
    "3-afc": Fraction(1, 3),
    "tetrad": Fraction(1, 3),
    "tetrad-specified": Fraction(1, 6),
    "two-out-of-five": Fraction(1, 10),
}


def chance_of(link: Link) -> Fraction:
    """Share of correct answers by guessing. ValueError for a link that is not in CHANCE."""
    if link not in CHANCE:
        raise ValueError(f"no such link to d-prime: {link!r}")
    return CHANCE[link]
