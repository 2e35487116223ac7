"""Does it keep what it promises, where cups are put in order?

Part of `tests.bench.calibration`: simulated panels through the program's own test of all drinks and
its reading of pairs. Who tells puts one drink first; everybody else deals places by lot.
"""

from collections.abc import Iterator
from decimal import Decimal
from random import Random

from panel.core import statistics as s
from panel.core.methods.ranking import orders
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.ranking_planning import tasters_to_rank

PANELS = 4_000  # each goes through the whole of the program's test
SHARE, COME = Decimal("0.5"), 0.8
DESIGNS = ((3, 3), (4, 4), (6, 6), (6, 3), (8, 4))

Rate = tuple[int, int]
Places = dict[str, int]


def ranks_by_design() -> Iterator[tuple[str, str, Rate, Rate, Rate, Rate, float, Rate]]:
    """Design, tasters; where nobody tells: false alarms of the test, of it where a fifth of the
    trays is lost, of the pairs as they are read, of pairs each read alone; power as planned and as
    it is."""
    for drinks, cups in DESIGNS:
        plan = Plan(
            method="ranking",
            aim=Aim.PREFERENCE,
            sides=2,
            drinks=drinks,
            cups=0 if cups == drinks else cups,
            pd=SHARE,
        )
        needed = tasters_to_rank(plan)
        assert needed is not None  # of these designs a hall has enough
        random = Random(f"{drinks} {cups}")
        blind = [_panel(random, plan, needed.holding_tasters, 0.0) for _ in range(PANELS)]
        shown = [s.rank_test(trays, plan.alpha).significant for trays in blind]
        pairs = [s.rank_pairs(trays, plan.alpha).pairs for trays in blind]
        lost = [
            s.rank_test([tray for tray in trays if random.random() < COME], plan.alpha).significant
            for trays in blind
        ]
        telling = [
            s.rank_test(
                _panel(random, plan, needed.holding_tasters, float(SHARE)), plan.alpha
            ).significant
            for _ in range(PANELS)
        ]
        yield (
            f"{drinks} drinks, {cups} cups each",
            str(needed.holding_tasters),
            (sum(shown), PANELS),
            (sum(lost), PANELS),
            (
                sum(
                    one and any(pair.apart_together for pair in of_it)
                    for one, of_it in zip(shown, pairs, strict=True)
                ),
                PANELS,
            ),
            (sum(any(pair.apart_alone for pair in of_it) for of_it in pairs), PANELS),
            needed.power,
            (sum(telling), PANELS),
        )


def _panel(random: Random, plan: Plan, tasters: int, share: float) -> list[Places]:
    """The trays of one panel, from whole sets of orders and a part of one drawn by lot."""
    complete = list(orders(plan))
    whole, rest = divmod(tasters, len(complete))
    trays = []
    for order in complete * whole + random.sample(complete, rest):
        ranked = random.sample(order, len(order))
        if random.random() < share:
            ranked.sort(key=lambda letter: letter != "A")
        trays.append({letter: place for place, letter in enumerate(ranked, start=1)})
    return trays


if __name__ == "__main__":
    for row in ranks_by_design():
        print(row, flush=True)  # noqa: T201
