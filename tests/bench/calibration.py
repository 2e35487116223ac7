"""Does it keep what it promises? By hand: python -m tests.bench.calibration

Simulated panels through the program's own functions, then the tables between the two marks of
docs/statistics.md and the pictures in docs/statistics/, written anew. Every number has the 95 %
range that so many simulated panels leave open. The seed is fixed: the same code, the same tables.
"""

from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np

from panel.core import statistics as s
from panel.core.methods import METHODS, ForcedChoice
from panel.core.names import Aim
from tests.bench.calibration_pictures import bars, curves
from tests.bench.calibration_ranks import ranks_by_design
from tests.bench.calibration_signs import signs_by_method

DOCS = Path(__file__).resolve().parents[2] / "docs"
BEGIN, END = "<!-- calibration: begin -->", "<!-- calibration: end -->"
PANELS = 100_000
ALPHA, BETA, CONFIDENCE = Decimal("0.05"), Decimal("0.2"), Decimal("0.95")
PD = Decimal("0.3")
TASTERS = 24
THIRD = Fraction(1, 3)
rng = np.random.default_rng(20_261_125)

Rate = tuple[int, int]


def rate(hits: np.ndarray) -> Rate:
    """How many of how many panels."""
    return int(hits.sum()), hits.size


def said(known: Rate) -> str:
    """In a hundred, with its range."""
    of = s.clopper_pearson(*known, CONFIDENCE)
    return f"{100 * known[0] / known[1]:.2f} ({100 * of.low:.2f}–{100 * of.high:.2f})"


def table(head: tuple[str, ...], rows: Iterator[tuple[str, ...]]) -> str:
    lines = [f"| {' | '.join(cells)} |" for cells in (head, ("---",) * len(head), *rows)]
    return "\n".join(lines)


@cache
def critical(n: int, chance: Fraction, sides: int = 1) -> int:
    """The critical number, beyond all counts where there is none."""
    mark = s.critical_number(n, chance, ALPHA, sides)
    return n + 1 if mark is None else mark


# --- every method by its locked rule --------------------------------------------------------------


CHOICES = [method for method in METHODS.values() if isinstance(method, ForcedChoice)]


def by_method() -> Iterator[tuple[str, ...]]:
    for method in CHOICES:
        sides = method.sides[0]
        pc = s.pc_at_pd(method.chance, PD)
        needed = s.plan_difference(method.chance, ALPHA, BETA, pc, sides)
        n, mark = needed.tasters, critical(needed.tasters, method.chance, sides)
        guessed = rng.binomial(n, float(method.chance), PANELS)
        told = rng.binomial(n, float(pc), PANELS)
        wrong = guessed >= mark
        if sides == 2:
            wrong |= n - guessed >= mark
        yield (
            str(method.name),
            str(n),
            f"{100 * nominal(n, method, mark, sides):.2f}",
            said(rate(wrong)),
            f"{100 * needed.power:.2f}",
            said(rate(told >= mark)),
            said(covered(told, n, pc)),
            said(prior_covered(told, n, method.chance, pc, sides)),
        )


def nominal(n: int, method: ForcedChoice, mark: int, sides: int) -> float:
    """The exact risk of the rule, which whole counts keep below alpha."""
    return sides * s.p_value(mark, n, method.chance)


def covered(counts: np.ndarray, n: int, pc: Fraction) -> Rate:
    """How often the exact interval holds the true proportion."""
    ends = [s.clopper_pearson(x, n, CONFIDENCE) for x in range(n + 1)]
    inside = np.array([end.low <= pc <= end.high for end in ends])
    return rate(inside[counts])


def prior_covered(counts: np.ndarray, n: int, chance: Fraction, pc: Fraction, sides: int) -> Rate:
    """How often the flat prior's interval holds the one true size; it never promised to."""
    true = float(pc) if sides == 2 else float(PD)
    inside = []
    for x in range(n + 1):
        known = s.flat_posterior(x, n, chance, pc, CONFIDENCE, sides)
        inside.append(known is not None and known.interval.low <= true <= known.interval.high)
    return rate(np.array(inside)[counts])


def similarity_by_method() -> Iterator[tuple[str, ...]]:
    """Similarity claimed where the limit is just reached, and where nobody can tell."""
    for method in CHOICES:
        if Aim.SIMILARITY not in method.aims:
            continue
        pc = s.pc_at_pd(method.chance, PD)
        limit = s.SimilarityLimit(pc, Fraction(ALPHA))
        needed = s.plan_similarity(method.chance, BETA, limit, 1)
        n, most = needed.tasters, needed.max_correct
        assert most is not None  # a plan that can be met has one
        yield (
            str(method.name),
            str(n),
            str(most),
            said(rate(rng.binomial(n, float(pc), PANELS) <= most)),
            f"{100 * needed.power:.2f}",
            said(rate(rng.binomial(n, float(method.chance), PANELS) <= most)),
        )


def two_groups() -> Iterator[tuple[str, ...]]:
    """Informed and blinded: the exact difference test, Newcombe's interval, and "alike"."""
    margin = Decimal("0.2")
    for n, m, share in ((12, 36, 0.4), (24, 24, 0.4), (24, 24, 0.7), (40, 40, 0.5)):
        p, cover, alike = _tables(n, m, margin)
        x = rng.binomial(n, share, PANELS)
        same = rng.binomial(m, share, PANELS)
        apart = rng.binomial(m, share + 0.2, PANELS)
        yield (
            f"{n} and {m}, {share:g} right",
            said(rate(p[x, same] <= float(ALPHA))),
            said(rate(cover[x, same])),
            said(rate(alike[x, apart])),
        )


def _tables(n: int, m: int, margin: Decimal) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """For every table of n and m: Boschloo's p, does the interval hold 0, is it called alike?"""
    p, cover = np.zeros((n + 1, m + 1)), np.zeros((n + 1, m + 1), bool)
    alike = np.zeros((n + 1, m + 1), bool)
    for x in range(n + 1):
        for y in range(m + 1):
            known = s.compare_groups(x, n, y, m, CONFIDENCE)
            p[x, y] = known.p_value
            cover[x, y] = known.interval.low <= 0 <= known.interval.high
            found = s.equivalent(x, n, y, m, margin, ALPHA)
            alike[x, y] = found is not None and found.alike
    return p, cover, alike


# --- what goes wrong, and how badly ---------------------------------------------------------------


def evening(pc: float = 1 / 3, tasters: int = TASTERS) -> np.ndarray:
    """(panels, tasters): who was right."""
    return rng.random((PANELS, tasters)) < pc


def locked() -> Rate:
    return rate(evening().sum(axis=1) >= critical(TASTERS, THIRD))


def peeked(tasters: int) -> Rate:
    marks = np.array([critical(n, THIRD) for n in range(1, tasters + 1)])
    return rate((evening(tasters=tasters).cumsum(axis=1) >= marks).any(axis=1))


def watched(tasters: int) -> Rate:
    found = s.deciding_counts(THIRD, Fraction(ALPHA), tasters)
    marks = np.array([tasters + 1 if mark is None else mark for mark in found])
    return rate((evening(tasters=tasters).cumsum(axis=1) >= marks).any(axis=1))


def best_of(sittings: int) -> Rate:
    marks = [evening().sum(axis=1) >= critical(TASTERS, THIRD) for _ in range(sittings)]
    return rate(np.any(marks, axis=0))


def sittings_in_one_total() -> Rate:
    """Three sittings of which 24, 9 and 3 came."""
    return rate(evening(tasters=36).sum(axis=1) >= critical(36, THIRD))


def told_counted(told: int) -> Rate:
    """Nobody can tell by tasting, but some were told at the table and are always right."""
    right = evening(tasters=TASTERS - told).sum(axis=1) + told
    return rate(right >= critical(TASTERS, THIRD))


def told_apart(told: int) -> Rate:
    n = TASTERS - told
    return rate(evening(tasters=n).sum(axis=1) >= critical(n, THIRD))


def informed_pooled() -> Rate:
    """12 blinded who cannot tell, 12 informed of whom half can: one total."""
    both = evening(tasters=12).sum(axis=1) + evening(2 / 3, 12).sum(axis=1)
    return rate(both >= critical(24, THIRD))


def informed_apart() -> Rate:
    return rate(evening(tasters=12).sum(axis=1) >= critical(12, THIRD))


def places(balanced: bool) -> Rate:
    """Everybody takes the middle cup for the odd one 6 times in 10. Balanced, the odd cup stands in
    each place on a third of the trays; unbalanced, the middle one on every second tray."""
    odd = np.arange(TASTERS) % 3 if balanced else np.where(np.arange(TASTERS) % 2, 1, 0)
    taken = rng.choice(3, (PANELS, TASTERS), p=[0.2, 0.6, 0.2])
    return rate((taken == odd).sum(axis=1) >= critical(TASTERS, THIRD))


def turned_out() -> Rate:
    """The same drawn in balanced blocks of six, but only 4 to 24 came: a new number each time."""
    odd = np.tile([0, 1, 2, 1, 2, 0], 4)
    came = rng.integers(4, TASTERS + 1, PANELS)
    here = np.arange(TASTERS) < came[:, None]
    taken = rng.choice(3, (PANELS, TASTERS), p=[0.2, 0.6, 0.2])
    marks = np.array([critical(max(1, n), THIRD) for n in range(TASTERS + 1)])
    return rate(((taken == odd) & here).sum(axis=1) >= marks[came])


def wrong_alarms() -> list[tuple[str, Rate, Rate]]:
    """What is done, what that does, and what the program does instead: both under no difference."""
    return [
        ("one look, by the locked rule", locked(), locked()),
        ("look after each of 24 ballots, stop when it passes", peeked(24), watched(24)),
        ("look after each of 100 ballots", peeked(100), watched(100)),
        ("three sittings, the best one is told", best_of(3), sittings_in_one_total()),
        ("3 of 24 told at the table, counted as blinded", told_counted(3), told_apart(3)),
        ("6 of 24 told at the table, counted as blinded", told_counted(6), told_apart(6)),
        ("12 informed (half can tell) added to 12 blinded", informed_pooled(), informed_apart()),
        ("odd cup in the middle on every second tray", places(False), places(True)),
        ("the middle cup is liked, 4 to 24 of 24 come", turned_out(), turned_out()),
    ]


INSTEAD = (
    "the same",
    "evidence that may be watched, up to 24",
    "evidence that may be watched, up to 100",
    "one total of three sittings (24, 9 and 3 came)",
    "they stand apart",
    "they stand apart",
    "two groups, never one",
    "balanced orders",
    "the same: blocks keep the places even",
)


# --- several trays by one taster ------------------------------------------------------------------


def trays_of(tasters: int, trays: int, telling: float, spread: str) -> np.ndarray:
    """Right answers of each panel. telling: the mean share told apart; "some" always tell and the
    others never, "all" tell equally often."""
    if spread == "some":
        tells = rng.random((PANELS, tasters)) < telling
        share = np.where(tells, 1.0, 1 / 3)
    else:
        share = np.full((PANELS, tasters), 1 / 3 + telling * 2 / 3)
    return rng.binomial(trays, share).sum(axis=1)


def repeats() -> Iterator[tuple[str, ...]]:
    n, pc, limit = 32, 1 / 3 + 0.5 * 2 / 3, Fraction(3, 5)  # limit: discriminators 0.4
    most = s.max_correct(n, limit, ALPHA)
    inside = np.array(
        [e.low <= pc <= e.high for e in (s.clopper_pearson(x, n, CONFIDENCE) for x in range(n + 1))]
    )
    for name, tasters, trays, spread in (
        ("32 tasters, a tray each", 32, 1, "some"),
        ("8 tasters, 4 trays each, all alike", 8, 4, "all"),
        ("8 tasters, 4 trays each, some always tell, some never", 8, 4, "some"),
        ("4 tasters, 8 trays each, some always tell, some never", 4, 8, "some"),
    ):
        nobody = trays_of(tasters, trays, 0.0, spread) >= critical(n, THIRD)
        half = inside[trays_of(tasters, trays, 0.5, spread)]
        alike = trays_of(tasters, trays, 0.4, spread) <= (-1 if most is None else most)
        yield name, said(rate(nobody)), said(rate(half)), said(rate(alike))


# --- writing --------------------------------------------------------------------------------------


def alarms_by_look() -> dict[str, tuple[float, ...]]:
    """Exact, ballot by ballot."""
    naive = tuple(s.critical_number(n, THIRD, ALPHA) for n in range(1, 201))
    return {
        "test for one look, after every ballot": s.looked_at(naive, 1 / 3),
        "evidence that may be watched": s.stopping(THIRD, ALPHA, THIRD, 200).by_ballot,
    }


def found_by_look() -> dict[str, tuple[float, ...]]:
    curves_of: dict[str, tuple[float, ...]] = {}
    for pd in ("0.3", "0.5"):
        pc = s.pc_at_pd(THIRD, Decimal(pd))
        curves_of[f"watched, {pd} tell"] = s.stopping(THIRD, ALPHA, pc, 120).by_ballot
        curves_of[f"one look, {pd} tell"] = s.power_curve(1, 120, THIRD, ALPHA, pc).power
    return curves_of


def section() -> str:
    alarms = wrong_alarms()
    rows = (
        (name, said(wrong), instead, said(kept))
        for (name, wrong, kept), instead in zip(alarms, INSTEAD, strict=True)
    )
    write(
        "false-alarms.svg",
        curves("False alarms when nobody can tell (triangle, alpha 5 in 100)", alarms_by_look()),
    )
    write("when-it-is-found.svg", curves("Found by this many ballots", found_by_look()))
    write(
        "practices.svg",
        bars(
            "False alarms in 100 panels that cannot tell (dashed: promised, 5)",
            [(name, 100 * wrong[0] / wrong[1]) for name, wrong, _ in alarms],
        ),
    )
    return TEXT.format(
        panels=f"{PANELS:,}",
        methods=table(
            (
                "method",
                "tasters",
                "false alarms, exact",
                "simulated",
                "power planned",
                "simulated",
                "exact interval holds",
                "flat prior holds",
            ),
            by_method(),
        ),
        similarity=table(
            (
                "method",
                "tasters",
                "at most",
                "“similar” at the very limit (5)",
                "shown where nobody can tell, planned",
                "simulated",
            ),
            similarity_by_method(),
        ),
        groups=table(
            (
                "informed and blinded",
                "“different” where they are the same (5)",
                "interval holds (95)",
                "“alike” where they are 20 points apart (5)",
            ),
            two_groups(),
        ),
        practices=table(
            ("what is done", "false alarms", "what keeps the risk", "false alarms"), rows
        ),
        repeats=table(
            (
                "32 trays, counted as tasters",
                "false alarm where nobody can tell (5)",
                "interval holds, half told apart (95)",
                "“similar” at the very limit (5)",
            ),
            repeats(),
        ),
        signs=signs(),
        ranks=ranks(),
    )


def ranks() -> str:
    """The table of rankings."""
    return table(
        (
            "trays",
            "tasters",
            "“different” where they are the same (5)",
            "a fifth of the trays lost",
            "a pair named as it is read (5)",
            "a pair named, each read alone",
            "power planned, half tell",
            "simulated",
        ),
        (
            (name, n, *map(said, kept), said(alone), f"{100 * power:.2f}", said(found))
            for name, n, *kept, alone, power, found in ranks_by_design()
        ),
    )


def signs() -> str:
    """The table of hits and false alarms."""
    return table(
        (
            "method",
            "tasters",
            "“different” where they are the same (5), usual line",
            "quick line",
            "power planned, d-prime 2",
            "simulated",
            "d-prime’s interval holds 0 (95), quick line",
            "holds 2",
        ),
        (
            (name, n, said(usual), said(quick), f"{100 * power:.2f}", *map(said, rest))
            for name, n, usual, quick, power, *rest in signs_by_method()
        ),
    )


TEXT = """
Made by `python -m tests.bench.calibration`: {panels} simulated panels for each cell, through the
functions above. All rates are in 100, with the 95 % range that the simulation leaves open.

**Every method by its locked rule**: at the number of tasters that is recommended for 0.3 truly
telling apart, alpha 0.05, power 0.8. Whole counts keep the false alarms below 5, never above. The
exact interval holds the truth at least 95 times; the flat prior promises 95 on the average of all
sizes and not at each.

{methods}

**Similarity**: limit 0.3 truly telling apart, risk 0.05 of calling that similar.

{similarity}

**Two groups**: Boschloo's test, Newcombe's interval (not exact: it may fall short of 95 by
a little), and the two one-sided tests at a margin of 20 points.

{groups}

**What goes wrong, and how badly**: triangle, 24 tasters unless said, of whom nobody can tell.
Panel does all on the right but one: no plan can choose evidence that may be watched yet, so the
tallies stay shut.

{practices}

![False alarms of nine practices](statistics/practices.svg)

![False alarms when a fixed rule is looked at after every ballot](statistics/false-alarms.svg)

![By how many ballots a difference is found](statistics/when-it-is-found.svg)

**Trays counted as tasters**: 32 trays of a triangle. The test against guessing keeps its risk
however few had them; the interval and similarity do not, as soon as some tell and others do not.

{repeats}

**Hits and false alarms**: panels as large as is recommended for a d-prime of 2, whose tasters
draw the line where it is usual (in the middle; at tau √2) or are quick to say “A” or “different”
(c −0.8; tau 0.7). Where both cups are asked about, the two answers are independent.

{signs}

**Cups put in order**: 4,000 panels for each cell, as large as is recommended for half of them truly
telling. Pairs are read all at once, and only behind a test that shows a difference; whoever reads
each pair alone names some pair far too often. The power planned comes from a formula.

{ranks}
"""


def write(name: str, content: str) -> None:
    (DOCS / "statistics" / name).write_text(content, encoding="utf-8")


def rewritten(document: str, made: Callable[[], str] = section) -> str:
    """The document with the part between its marks made anew. ValueError without marks."""
    before, mark, rest = document.partition(BEGIN)
    _, close, after = rest.partition(END)
    if not mark or not close:
        raise ValueError(f"{BEGIN} and {END} must stand in docs/statistics.md")
    return f"{before}{BEGIN}\n{made().strip()}\n{END}{after}"


if __name__ == "__main__":
    path = DOCS / "statistics.md"
    path.write_text(rewritten(path.read_text(encoding="utf-8")), encoding="utf-8")
