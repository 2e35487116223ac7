"""Speed by hand: python -m tests.bench.statistics_speed. Milliseconds, best and middle of 20 runs.

What a page waits for: a power curve of a thousand sizes (meant: under 50), any finding (under 20),
what is computed for several tasters or two groups, and the start of the program, which must load
neither numpy nor scipy.
"""

import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from functools import partial
from statistics import median
from time import perf_counter

from panel.core import statistics as s
from panel.core.findings import find
from panel.core.names import Information
from panel.core.outcomes import Group, Stratum, outcomes_of
from panel.core.plan import Plan
from tests.kinds import FORCED
from tests.results import comparison, evening, right_and_wrong

ALPHA, THIRD = Decimal("0.05"), Fraction(1, 3)
RUNS = 20


def milliseconds(work: Callable[[], object]) -> list[float]:
    work()  # imports, and tables that are kept
    times = []
    for _ in range(RUNS):
        start = perf_counter()
        work()
        times.append(1000 * (perf_counter() - start))
    return times


def finding_of(method: str, right: int, tasters: int) -> Callable[[], object]:
    plan = Plan(method=method, attribute="bitter", stronger="B")
    event = evening(comparison(), right_and_wrong("blue", right, tasters))
    ballots = outcomes_of(event.comparison, event.key, event.trays, event.ballots).judged
    stratum = Stratum(
        id="blinded",
        group=Group.BLINDED,
        information=Information.BLINDED,
        method=method,
        sittings=("blue",),
        ballots=ballots,
    )
    return lambda: find(plan, stratum)


def cases() -> dict[str, Callable[[], object]]:
    pc = s.pc_at_pd(THIRD, Decimal("0.3"))
    eight = [(k % 9, 8) for k in range(8)]
    known: dict[str, Callable[[], object]] = {
        "power curve, 1 to 1000": lambda: s.power_curve(1, 1000, THIRD, ALPHA, pc),
        "two groups of 36": lambda: s.compare_groups(12, 36, 20, 36, Decimal("0.95")),
        "alike within 0.2, 36 and 36": lambda: s.equivalent(12, 36, 14, 36, Decimal("0.2"), ALPHA),
        "8 tasters of 8 trays, spread": lambda: s.overdispersed(eight),
        "8 tasters of 8 trays, beta-binomial": lambda: s.fit_beta_binomial(eight, THIRD),
        "3 sittings of 40, exact": lambda: s.freeman_halton([(13, 40), (15, 40), (22, 40)]),
    }
    rates = s.Rates(12, 18, 6, 18)
    for line in ("yes-no", "same-different"):
        known[f"d-prime of hits and false alarms, {line}, 18 and 18"] = partial(
            s.sensitivity_of, line, rates, Decimal("0.95")
        )
    for method in FORCED:
        known[f"finding of {method}, 15 of 36"] = finding_of(method, 15, 36)
    return known


def heavy_at_start() -> set[str]:
    """Which of numpy and scipy the command line has loaded once it is ready."""
    program = "import panel.cli, sys; print(*sys.modules)"
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return set(run.stdout.split()) & {"numpy", "scipy"}


if __name__ == "__main__":
    for name, work in cases().items():
        times = milliseconds(work)
        sys.stdout.write(f"{name:40} {min(times):8.2f} {median(times):8.2f}\n")
    loaded = ", ".join(sorted(heavy_at_start())) or "neither numpy nor scipy"
    sys.stdout.write(f"loaded at the start: {loaded}\n")
