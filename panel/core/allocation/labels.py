"""The order in which cup labels are printed: tray by tray, cup by cup in serving order.

No random stream is needed. Codes are dealt without a look at the beers, so tray order groups
nothing by beer (as a list by beer, or by code and beer, would); and it is the order in which the
labels are needed, a tray's cups side by side. Only card numbers and codes come in here, so no
label sheet can hold more.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class CupLabel:
    """One label: the card number of its tray, its place on the tray from 1, its code."""

    number: int
    position: int
    code: str


def labels_in_print_order(trays: Iterable[tuple[int, Sequence[str]]]) -> tuple[CupLabel, ...]:
    """The labels of trays, in the order of printing.

    trays: (card number, codes in serving order) of each tray whose labels are printed, in any
    order. A reprint takes whole trays, so that a single new label points at nobody's cup.
    """
    return tuple(
        CupLabel(number, position, code)
        for number, codes in sorted(trays, key=lambda tray: tray[0])
        for position, code in enumerate(codes, start=1)
    )
