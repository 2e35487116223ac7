"""Serving orders of several beers, everybody tasting all: balanced for position and for what went
before.

Williams 1949, Australian Journal of Scientific Research A 2:149–168; for tasting MacFie, Bratchell,
Greenhoff & Vallis 1989, Journal of Sensory Studies 4:129–148. In the set each beer stands in each
position equally often, and each beer follows each other beer equally often, so that the taste that
a cup leaves in the mouth helps or harms all alike.
"""

from panel.core.names import LETTERS

FEWEST, MOST = 2, 8
"""Beers for which orders are made: more than eight is no tasting, it is an evening's drinking."""


def williams_orders(beers: int) -> tuple[str, ...]:
    """The complete set for 2 to 8 beers, letters by position: as many orders as beers, or twice
    as many where their number is odd. Else ValueError.

    The first row is 0, 1, t − 1, 2, t − 2, …; the others add 1 to t − 1, modulo t; an odd number
    of beers takes the mirror image of each row as well.
    """
    if not FEWEST <= beers <= MOST:
        raise ValueError(f"serving orders are made for {FEWEST} to {MOST} beers, not {beers}")
    first = [0] + [place // 2 + 1 if place % 2 else beers - place // 2 for place in range(1, beers)]
    rows = [[(beer + step) % beers for beer in first] for step in range(beers)]
    if beers % 2:
        rows += [row[::-1] for row in rows]
    return tuple("".join(LETTERS[beer] for beer in row) for row in rows)
