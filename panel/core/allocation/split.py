"""Who is told at a split sitting: half of the trays, drawn by lot as the orders are.

What half the tasters know is then chance's doing alone, and the difference between the two halves
is a randomised result of its own (CONSORT 2025, items 17 and 18). The lots come from a stream of
their own, so that who is told says nothing of the codes, and each serving order is told and not
told equally often, as near as numbers allow, so that it says nothing of the order either.
"""

from collections import Counter
from collections.abc import Sequence
from itertools import chain

from panel.core.allocation.draw import Stream
from panel.core.allocation.orders import Waves


def draw_lots(stream: Stream, waves: Waves, one_shuffle: bool) -> tuple[bool, ...]:
    """Tray by tray through the waves, whether its taster is told.

    waves: the serving orders as dealt. Of every wave half are told, and half of all after every
    wave; where that is no whole number, a lot rounds it. Of those that may be chosen, the trays
    whose order has been told least often go first. With `one_shuffle` the whole is one wave.
    """
    steps = (tuple(chain.from_iterable(waves)),) if one_shuffle else waves
    owed: Counter[str] = Counter()  # trays not told less trays told so far, by order
    told: list[bool] = []
    for orders in steps:
        told += _half(stream, orders, owed)
    return tuple(told)


def _half(stream: Stream, orders: Sequence[str], owed: Counter[str]) -> list[bool]:
    owed.update(orders)
    told = [False] * len(orders)
    left = list(stream.shuffle(range(len(orders))))
    wanted = (owed.total() + stream.below(2)) // 2  # the lot matters where the total is odd
    for _ in range(wanted):
        place = max(left, key=lambda place: owed[orders[place]])  # the first of equals
        left.remove(place)
        told[place] = True
        owed[orders[place]] -= 2
    return told
