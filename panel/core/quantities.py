"""How many trays, cups, labels and cards a comparison needs, how much of each drink, how long.

Before the draw the counts are the most that the draw can ask for; with the serving orders at hand
they are exact. All volumes are whole millilitres, rounded up: too little beer ends an evening.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from panel.core.alcohol import Alcohol, alcohol, alcohol_of_repeats
from panel.core.allocation.orders import wave_sizes_of
from panel.core.comparison import Comparison, Sitting
from panel.core.errors import PanelError
from panel.core.message import Message, say, say_n
from panel.core.methods import Detection, method_named
from panel.core.names import SittingKind

SPILL_PERCENT = 10
SPARE_VESSEL_PERCENT = 5
DISCARD_MILLILITRES = 50
"""Left in a bottle or can: the last of it and its sediment. Common practice, no source."""
RUN_OFF_MILLILITRES = 200
"""Run off a tap before the first cup: 100 to 200 ml are usual; the greater is reckoned."""
TAPPED_FROM_MILLILITRES = 5000
"""A container of this size or above is taken to be drawn from a tap."""

SPARE_TRAYS = 2
"""Printed and poured beyond the planned ones at a table, for what is spilled or filled wrong."""

POUR_SECONDS_PER_CUP = 6
READ_BACK_SECONDS_PER_CUP = 3
CHANGE_OF_JUG_SECONDS = 20
CARRY_SECONDS_PER_TRAY = 8
"""Our own estimates of a practised pair of hands, to be checked at a rehearsal; no source."""
POUR_TO_SERVE_LIMIT_SECONDS = 300
"""Five minutes from the first pour of a wave to its last tray on the table: foam and warmth."""


@dataclass(frozen=True, kw_only=True)
class BeerNeed:
    """What one beer needs at one sitting. `exact` is False while the orders are not drawn."""

    letter: str
    cups: int
    poured_millilitres: int
    spill_millilitres: int
    run_off_millilitres: int
    containers: int
    exact: bool

    @property
    def total_millilitres(self) -> int:
        """Poured, spilled and run off together."""
        return self.poured_millilitres + self.spill_millilitres + self.run_off_millilitres


@dataclass(frozen=True, kw_only=True)
class SittingQuantities:
    """What one sitting needs; `waves` are sizes in trays, spare trays in waves of their own."""

    sitting: str
    trays: int
    spare_trays: int
    waves: tuple[int, ...]
    cups: int
    vessels: int
    beers: tuple[BeerNeed, ...]
    longest_wave_seconds: int

    @property
    def cards(self) -> int:
        """One card for every tray printed."""
        return self.trays + self.spare_trays

    @property
    def labels(self) -> int:
        """One label for every cup."""
        return self.cups

    @property
    def within_limit(self) -> bool:
        """Whether one pourer serves every wave within the pour-to-serve limit, by estimate."""
        return self.longest_wave_seconds <= POUR_TO_SERVE_LIMIT_SECONDS


@dataclass(frozen=True, kw_only=True)
class BeerTotal:
    """What one beer needs over all sittings: keep back this many containers of it."""

    letter: str
    cups: int
    total_millilitres: int
    containers: int


@dataclass(frozen=True, kw_only=True)
class Quantities:
    """What a comparison needs over all its sittings."""

    sittings: tuple[SittingQuantities, ...]
    beers: tuple[BeerTotal, ...]
    trays: int
    cups: int
    cards: int
    labels: int
    vessels: int
    alcohol: Alcohol
    repeats_alcohol: Alcohol | None


def quantities(
    comparison: Comparison,
    orders: Mapping[str, Sequence[str]] | None = None,
    *,
    spare_trays: int | None = None,
) -> Quantities:
    """What all sittings need, in cups, cards, labels, millilitres and containers.

    orders: sitting id to the serving orders of the trays that will be poured there (planned and
    spare), once they are drawn. spare_trays: printed beyond the planned ones, at each sitting;
    None for the usual number.
    """
    drawn = orders or {}
    each = tuple(
        sitting_quantities(comparison, sitting, drawn.get(sitting.id), spare_trays=spare_trays)
        for sitting in comparison.sittings
    )
    return Quantities(
        sittings=each,
        beers=tuple(_total(beer.letter, each) for beer in comparison.beers),
        trays=sum(one.trays for one in each),
        cups=sum(one.cups for one in each),
        cards=sum(one.cards for one in each),
        labels=sum(one.labels for one in each),
        vessels=sum(one.vessels for one in each),
        alcohol=alcohol(comparison),
        repeats_alcohol=alcohol_of_repeats(comparison),
    )


def usual_spare_trays(sitting: Sitting) -> int:
    """How many spare trays are printed and poured unasked, for a table alone; never more than were
    drawn. Parcels and repeat trials are packed without haste and have none."""
    spare = max(sitting.drawn - sitting.planned, 0)
    return min(SPARE_TRAYS, spare) if sitting.kind is SittingKind.TABLE else 0


def sitting_quantities(
    comparison: Comparison,
    sitting: Sitting,
    orders: Sequence[str] | None = None,
    *,
    spare_trays: int | None = None,
) -> SittingQuantities:
    """What one sitting needs; `orders` and `spare_trays` as in `quantities`."""
    plan = comparison.plan
    spares = usual_spare_trays(sitting) if spare_trays is None else spare_trays
    method = method_named(plan.method)
    planned = wave_sizes_of(sitting.planned, plan.wave_size)
    waves = planned + wave_sizes_of(spares, plan.wave_size)
    cups = method.cups_of(plan) * (sitting.planned + spares)
    counts = (
        most_cups(
            method.orders(plan),
            sitting.planned,
            spare_trays=spares,
            independent=sitting.kind is not SittingKind.TABLE,
        )
        if orders is None
        else Counter("".join(orders))
    )
    return SittingQuantities(
        sitting=sitting.id,
        trays=sitting.planned,
        spare_trays=spares,
        waves=waves,
        cups=cups,
        vessels=cups + _percent(cups, SPARE_VESSEL_PERCENT),
        beers=tuple(
            beer_need(
                beer.letter,
                counts[beer.letter],
                comparison.serving.millilitres,
                comparison.serving.container_millilitres,
                exact=orders is not None,
            )
            for beer in comparison.beers
        ),
        longest_wave_seconds=wave_seconds(max(waves, default=0), method.cups_of(plan)),
    )


def beer_need(
    letter: str, cups: int, millilitres: int, container_millilitres: int, *, exact: bool
) -> BeerNeed:
    """Millilitres and containers for `cups` cups; each container loses its run-off or its last."""
    tapped = container_millilitres >= TAPPED_FROM_MILLILITRES
    loss = RUN_OFF_MILLILITRES if tapped else DISCARD_MILLILITRES
    if container_millilitres < loss + millilitres:
        raise PanelError(
            "container-too-small",
            say(
                "A container of %(container)s ml gives no full cup of %(cup)s ml when %(loss)s ml "
                "stay in it. Give the size of the bottles, cans or kegs in millilitres.",
                container=container_millilitres,
                cup=millilitres,
                loss=loss,
            ),
            field="container_millilitres",
        )
    poured = cups * millilitres
    spill = _percent(poured, SPILL_PERCENT)
    containers = _up(poured + spill, container_millilitres - loss)
    return BeerNeed(
        letter=letter,
        cups=cups,
        poured_millilitres=poured,
        spill_millilitres=spill,
        run_off_millilitres=containers * loss,
        containers=containers,
        exact=exact,
    )


def wave_seconds(trays: int, cups_per_tray: int) -> int:
    """Estimated seconds from the first pour of a wave to its last tray on the table."""
    cups = trays * cups_per_tray
    if cups == 0:
        return 0
    at_the_mat = cups * (POUR_SECONDS_PER_CUP + READ_BACK_SECONDS_PER_CUP)
    return at_the_mat + CHANGE_OF_JUG_SECONDS + trays * CARRY_SECONDS_PER_TRAY


def pouring_advice(needs: Quantities, drink: str) -> tuple[Message, ...]:
    """What the organiser should hear of time and of the drink to keep back. drink: its word."""
    advice: list[Message] = []
    longest = max((one.longest_wave_seconds for one in needs.sittings), default=0)
    if longest > POUR_TO_SERVE_LIMIT_SECONDS:
        advice.append(
            say(
                "A wave would take one pourer about %(minutes)s minutes from the first cup to the "
                "last tray; %(limit)s are the limit. Pour smaller waves, or have two people pour.",
                minutes=_up(longest, 60),
                limit=POUR_TO_SERVE_LIMIT_SECONDS // 60,
            )
        )
    advice += [
        say_n(
            "Keep back 1 container of %(drink)s %(letter)s: %(cups)s cups, %(ml)s ml with what is "
            "spilled and run off.",
            "Keep back %(count)s containers of %(drink)s %(letter)s: %(cups)s cups, %(ml)s ml with "
            "what is spilled and run off.",
            beer.containers,
            drink=drink,
            letter=beer.letter,
            cups=beer.cups,
            ml=beer.total_millilitres,
        )
        for beer in needs.beers
    ]
    return tuple(advice)


def known_cups(comparison: Comparison) -> tuple[Message, ...]:
    """That a known cup is among what is poured, where people get to know a drink by it."""
    method = method_named(comparison.plan.method)
    if not isinstance(method, Detection) or not method.references:
        return ()
    return (
        say(
            "Every taster gets %(ml)s ml of %(drink)s A as a known cup, to come back to: it is in "
            "all these numbers.",
            ml=comparison.serving.millilitres * len(method.references),
            drink=comparison.drink,
        ),
    )


def most_cups(
    complete_set: Sequence[str], trays: int, *, spare_trays: int = 0, independent: bool = False
) -> Counter[str]:
    """The most cups of each beer that any draw can ask for, by letter.

    Balanced draws: whole sets, and the remainder of the heaviest orders. Spares are a part of a
    wave of their own, and the orders of parcels and repeat trials (`independent`) are drawn each
    by itself: there every tray may be a heaviest one.
    """
    most: Counter[str] = Counter()
    for letter in sorted(set("".join(complete_set))):
        heaviest = sorted((order.count(letter) for order in complete_set), reverse=True)
        whole, rest = divmod(trays, len(heaviest))
        most[letter] = (
            trays * heaviest[0] if independent else whole * sum(heaviest) + sum(heaviest[:rest])
        )
        most[letter] += spare_trays * heaviest[0]
    return most


def _total(letter: str, sittings: Sequence[SittingQuantities]) -> BeerTotal:
    needs = [need for one in sittings for need in one.beers if need.letter == letter]
    return BeerTotal(
        letter=letter,
        cups=sum(need.cups for need in needs),
        total_millilitres=sum(need.total_millilitres for need in needs),
        containers=sum(need.containers for need in needs),
    )


def _percent(amount: int, percent: int) -> int:
    return _up(amount * percent, 100)


def _up(amount: int, part: int) -> int:
    return -(-amount // part)
