"""Every number of findings.json once more, from the other files of a bundle, without Panel.

Written from docs/statistics.md, docs/bundle.md and docs/findings.md with scipy alone; nothing here
may import this program, and nothing is taken from findings.json. Sources stand in
docs/statistics.md beside each rule.
"""

import csv
import io
import json
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from scipy import stats

from tests.publishing.by_scipy import (
    Words,
    apart,
    boschloo,
    clopper_pearson,
    curve,
    d_prime,
    fitted,
    freeman_halton,
    newcombe,
    tarone,
)

Row = dict[str, str]
FOUR_IN_FIVE = 0.8

CHANCE = {
    "triangle": 1 / 3,
    "duo-trio": 1 / 2,
    "tetrad": 1 / 3,
    "tetrad-specified": 1 / 6,
    "two-out-of-five": 1 / 10,
    "3-afc": 1 / 3,
    "paired": 1 / 2,
    "paired-preference": 1 / 2,
}


def recomputed(files: Mapping[str, bytes]) -> Words:
    """What findings.json must hold: its findings, differences and trays, without sentences."""
    bundle = _Bundle(files)
    return {
        "findings": [bundle.finding(stratum) for stratum in bundle.strata()],
        "differences": list(bundle.differences()),
        "parts of a total": list(bundle.parts()),
        "repeat trials together": list(bundle.repeats()),
        "trays": bundle.flow(bundle.trays),
        "trays by sitting": {
            one["id"]: bundle.flow([t for t in bundle.trays if t["sitting"] == one["id"]])
            for one in bundle.sittings
        },
        "late": [int(row["tray"]) for row in bundle.late],
    }


class _Bundle:
    def __init__(self, files: Mapping[str, bytes]) -> None:
        document = json.loads(files["plan.json"])
        about = json.loads(files["comparison.json"])
        added = {one["id"]: one["sitting"] for one in about["sittings"] if "sitting" in one}
        sealed = {one["id"]: one for one in document["sittings"]}
        self.sittings: list[Words] = [{**sealed, **added}[one["id"]] for one in about["sittings"]]
        self.plan: Words = document["plan"]
        self.method: str = self.plan["method"]
        self.p0 = CHANCE[self.method]
        self.similar = self.plan["aim"] == "similarity"
        two = self.method == "paired" and self.plan["sides"] == 2
        self.sides = 2 if two or self.method == "paired-preference" else 1
        self.trays = _table(files["trays.csv"])
        self.late = _table(files["late.csv"])
        self.ballots = _table(files["ballots.csv"])
        self.cups: dict[str, dict[str, str]] = {}
        for row in _table(files["cups.csv"]):
            self.cups.setdefault(row["tray"], {})[row["code"]] = row["beer"]
        self.came = {row["tray"] for row in self.ballots if row["counts_as"] != "late"}
        self.came_late = {row["tray"] for row in self.late}
        self.by_tray = {tray["tray"]: tray for tray in self.trays}
        self.votes = [row for row in self.ballots if self.fate(self.by_tray[row["tray"]]) == "vote"]

    # --- trays

    def fate(self, tray: Row) -> str:
        """Where a tray ended; "vote" where a ballot of it counts, in whatever group."""
        in_time, late = tray["tray"] in self.came, tray["tray"] in self.came_late
        nothing = tray["reason"] in ("never-used", "not-returned")
        if tray["standing"] == "set-aside":
            if in_time or not nothing:
                return "aside"
            if late:
                return "late"
            return "unused" if tray["reason"] == "never-used" else "aside"
        if tray["standing"] == "in-question":
            return "in question"
        if in_time:
            return "vote"
        if late:
            return "late"
        return "unused" if tray["standing"] == "printed" else "nothing"

    def flow(self, trays: Sequence[Row]) -> Words:
        fates = Counter(map(self.fate, trays))
        aside = [tray for tray in trays if self.fate(tray) == "aside"]
        silent = [
            t for t in aside if t["tray"] not in self.came and t["tray"] not in self.came_late
        ]
        gone = [t for t in silent if t["reason"] == "not-returned"]
        before = [t for t in silent if t not in gone and t["handed_out"] == "false"]
        numbers = {tray["tray"] for tray in trays}
        told = sum(
            self.group(row) == "told-at-the-table" for row in self.votes if row["tray"] in numbers
        )
        used = len(trays) - fates["unused"]
        handed_out = used - len(before)
        missing = fates["nothing"] + len(gone)
        return {
            "drawn": len(trays),
            "unused": fates["unused"],
            "used": used,
            "before": len(before),
            "handed out": handed_out,
            "not returned": missing,
            "returned": handed_out - missing,
            "set aside": dict(Counter(t["reason"] for t in aside)),
            "set aside before": dict(Counter(t["reason"] for t in before)),
            "without ballot": fates["nothing"],
            "late": fates["late"],
            "in question": fates["in question"],
            "told": told,
            "counted": fates["vote"] - told,
        }

    # --- ballots

    def outcome(self, row: Row) -> str:
        """ "right", "wrong" or "none", by what the chosen cups held."""
        chosen = row["answer"].split()
        if chosen == ["none"]:
            return "none"
        cups = self.cups[row["tray"]]
        order, got = list(cups.values()), [cups[code] for code in chosen]
        if self.method == "triangle":
            right = order.count(got[0]) == 1
        elif self.method == "duo-trio":
            right = got[0] == order[0]
        elif self.method == "tetrad":
            right = got[0] == got[1]
        elif self.method == "two-out-of-five":
            right = got[0] == got[1] and order.count(got[0]) == 2
        else:
            right = set(got) == {self.named}
        return "right" if right else "wrong"

    @property
    def named(self) -> str:
        """The letter that counts as right where the question names an attribute, or a liking."""
        return self.plan["stronger"] or "A"

    def group(self, row: Row) -> str:
        sitting = next(one for one in self.sittings if one["id"] == row["sitting"])
        if sitting["kind"] == "repeat":
            return "repeat-trials"
        informed = sitting["information"] == "informed" or (
            sitting["information"] == "split" and self.by_tray[row["tray"]]["informed"] == "true"
        )
        if informed:
            return "informed"
        knew = {"variable", "helped"} & set(row["knew"].split())
        return "told-at-the-table" if knew else "blinded"

    # --- groups

    def strata(self) -> list[Words]:
        made = []
        tables = [one for one in self.sittings if one["kind"] != "repeat"]
        for group in ("blinded", "informed", "told-at-the-table"):
            wanted = "informed" if group == "informed" else "blinded"
            ids = [one["id"] for one in tables if one["information"] in (wanted, "split")]
            sets = [ids] if self.plan["join_sittings"] else [[one] for one in ids]
            for part in sets:
                rows = [r for r in self.votes if self.group(r) == group and r["sitting"] in part]
                if part and (rows or group != "told-at-the-table"):
                    made.append({"group": group, "sittings": part, "rows": rows})
        for one in self.sittings:
            if one["kind"] == "repeat":
                made += self._tasters(one["id"])
        return made

    def _tasters(self, sitting: str) -> list[Words]:
        """Repeat trials: trays by the mark of their taster; without marks there is one taster."""
        rows = [row for row in self.votes if row["sitting"] == sitting]
        marks = list(dict.fromkeys(row["taster"] for row in rows))
        if sum(bool(mark) for mark in marks) < 2:
            return [{"group": "repeat-trials", "sittings": [sitting], "rows": rows}]
        return [
            {
                "group": "repeat-trials",
                "sittings": [sitting],
                "rows": [row for row in rows if row["taster"] == mark],
            }
            for mark in marks
        ]

    def finding(self, stratum: Words, *, beside: bool = True) -> Words:
        outcomes = Counter(map(self.outcome, stratum["rows"]))
        correct, n = outcomes["right"], outcomes["right"] + outcomes["wrong"]
        told = [
            row
            for row in self.votes
            if self.group(row) == "told-at-the-table" and row["sitting"] in stratum["sittings"]
        ]
        with_told = None
        if beside and told and stratum["group"] == "blinded":
            both = {**stratum, "rows": stratum["rows"] + told}
            with_told = self.finding(both, beside=False)
        return {
            "group": stratum["group"],
            "sittings": stratum["sittings"],
            "planned": stratum["group"] != "told-at-the-table",
            "tasters": n,
            "correct": correct,
            "no choice": outcomes["none"],
            "counted beer": self.named if self.sides == 2 else None,
            "expected by guessing": n * self.p0,
            **(self._numbers(correct, n) if n else dict.fromkeys(NUMBERS)),
            "verdict": self._verdict(stratum["group"], correct, n),
            "with told": with_told,
            **({"flat prior": None} if stratum["group"] == "told-at-the-table" else {}),
        }

    # --- numbers

    @cached_property
    def pc(self) -> float:
        """The share that would be right at the difference that matters."""
        if self.plan["pd"] is not None:
            return self.p0 + float(self.plan["pd"]) * (1 - self.p0)
        return curve(self.method)(float(self.plan["d_prime"]))

    def critical(self, n: int) -> int | None:
        """The smallest count whose tail is within alpha."""
        alpha = float(self.plan["alpha"])
        counts = range(math.ceil(n * self.p0), n + 1)
        return next((x for x in counts if self.sides * self.tail(x, n) <= alpha), None)

    def tail(self, x: int, n: int) -> float:
        return float(stats.binom.sf(x - 1, n, self.p0))

    def most(self, n: int) -> int | None:
        """The largest count that shows similarity."""
        beta = float(self.plan["beta"])
        known = [x for x in range(n + 1) if stats.binom.cdf(x, n, self.pc) <= beta]
        return known[-1] if known and known[-1] >= n * self.p0 - 1e-9 else None

    def larger(self, correct: int, n: int) -> int:
        return max(correct, n - correct) if self.sides == 2 else correct

    def _verdict(self, group: str, correct: int, n: int) -> str:
        if group == "told-at-the-table" and n:
            return "count-only"
        mark = None if not n else self.most(n) if self.similar else self.critical(n)
        if mark is None:
            return "too-few"
        if self.similar:
            at_limit = stats.binom.cdf(self.larger(correct, n), n, self.pc)
            return "similar" if at_limit <= float(self.plan["beta"]) else "not-similar"
        return "shown" if self.larger(correct, n) >= mark else "not-shown"

    def _numbers(self, correct: int, n: int) -> Words:
        critical, most = self.critical(n), self.most(n) if self.similar else None
        larger = self.larger(correct, n)
        low, high = clopper_pearson(correct, n)
        line = lambda share: (share - self.p0) / (1 - self.p0)  # noqa: E731
        seen = None
        if critical is not None:
            seen = line(float(stats.beta.ppf(FOUR_IN_FIVE, critical, n - critical + 1)))
        liking = self.plan["aim"] == "preference"
        back = d_prime(self.method, self.p0, signed=self.sides == 2)
        return {
            "decisive count": most if self.similar else critical,
            "power": self._power(n, critical, most),
            "detectable discriminators": seen,
            "p": min(1.0, self.sides * self.tail(larger, n)),
            "critical number": critical,
            "p at the similarity limit": float(stats.binom.cdf(larger, n, self.pc))
            if self.similar
            else None,
            "share": correct / n,
            "share interval": [low, high],
            "discriminators": None if liking else line(correct / n),
            "discriminators interval": None if liking else [line(low), line(high)],
            "d-prime": None if liking else back(correct / n),
            "d-prime interval": None if liking else [back(low), back(high)],
            "flat prior": self._flat_prior(correct, n, high),
        }

    def _flat_prior(self, correct: int, n: int, high: float) -> Words | None:
        """The beta distribution of the share, cut off below chance."""
        least = 0.0 if self.sides == 2 else self.p0
        if self.sides == 1 and high < self.p0:
            return None
        known = stats.beta(correct + 1, n - correct + 1)
        mass = float(known.sf(least))
        at = lambda below: float(known.isf((1 - below) * mass))  # noqa: E731
        low, middle, top = ((at(q) - least) / (1 - least) for q in (0.025, 0.5, 0.975))
        beyond = float(known.sf(self.pc)) / mass
        if self.sides == 2:
            beyond += float(known.cdf(1 - self.pc))
        return {"median": middle, "interval": [low, top], "beyond the limit": beyond}

    def _power(self, n: int, critical: int | None, most: int | None) -> float:
        if self.similar:
            if most is None:
                return 0.0
            least = n - most - 1 if self.sides == 2 else -1
            within = stats.binom.cdf(most, n, self.p0) - stats.binom.cdf(least, n, self.p0)
            return max(0.0, float(within))
        return 0.0 if critical is None else float(stats.binom.sf(critical - 1, n, self.pc))

    # --- parts of a total, repeat trials

    def parts(self) -> Iterable[Words]:
        """Sittings, and serving orders, of each blinded or informed group."""
        for stratum in self.strata():
            rows = [r for r in stratum["rows"] if self.outcome(r) != "none"]
            if stratum["group"] not in ("blinded", "informed"):
                continue
            held = [s for s in stratum["sittings"] if any(r["sitting"] == s for r in rows)]
            orders = sorted({self.order(r) for r in rows})
            for by, names, name in (
                ("sittings", held, lambda r: r["sitting"]),
                ("orders", orders, self.order),
            ):
                counts = [self.count([r for r in rows if name(r) == one]) for one in names]
                if len(names) > 1:
                    p = freeman_halton(tuple(map(tuple, counts)))
                    yield {"by": by, "parts": names, "counts": counts, "p": p, "exact": True}

    def order(self, row: Row) -> str:
        return "".join(self.cups[row["tray"]].values())

    def count(self, rows: Sequence[Row]) -> list[int]:
        outcomes = Counter(map(self.outcome, rows))
        return [outcomes["right"], outcomes["right"] + outcomes["wrong"]]

    def repeats(self) -> Iterable[Words]:
        for sitting in self.sittings:
            if sitting["kind"] != "repeat":
                continue
            tasters = [self.count(one["rows"]) for one in self._tasters(sitting["id"])]
            counts = [count for count in tasters if count[1]]
            if len(counts) < 2:
                continue
            x, n = (sum(column) for column in zip(*counts, strict=True))
            yield {
                "sitting": sitting["id"],
                "counts": counts,
                "p": min(1.0, self.sides * self.tail(self.larger(x, n), n)),
                "tarone": tarone(tuple(map(tuple, counts))),
                "beta-binomial": fitted(
                    tuple(map(tuple, counts)), 0.0 if self.sides == 2 else self.p0
                )
                if any(m > 1 for _, m in counts)
                else None,
            }

    # --- differences

    def differences(self) -> Iterable[Words]:
        tables = [one for one in self.sittings if one["kind"] != "repeat"]
        split = [one for one in tables if one["information"] == "split"]
        drawn = [one for one in tables if one["groups drawn"] and one not in split]
        if not _both(drawn):
            drawn = []
        others = [one for one in tables if one not in split and one not in drawn]
        join = self.plan["join_sittings"]
        sets = [("split", split)] if join else [("split", [one]) for one in split]
        for basis, part in (("sittings-drawn", drawn), ("not-drawn", others)):
            if _both(part) and (join or len(part) == 2):
                sets.append((basis, part))
        for basis, part in sets:
            made = self._difference(basis, [one["id"] for one in part])
            if made:
                yield made

    def _difference(self, basis: str, ids: list[str]) -> Words | None:
        as_blinded = {"blinded"} | ({"told-at-the-table"} if basis != "not-drawn" else set())
        counts = []
        for groups in ({"informed"}, as_blinded):
            rows = [r for r in self.votes if r["sitting"] in ids and self.group(r) in groups]
            outcomes = Counter(map(self.outcome, rows))
            counts.append((outcomes["right"], outcomes["right"] + outcomes["wrong"]))
        (x, n), (y, m) = counts
        if not n or not m:
            return None
        return {
            "basis": basis,
            "sittings": ids,
            "informed": [x, n],
            "blinded": [y, m],
            "difference": x / n - y / m,
            "interval": list(newcombe(x, n, y, m)),
            "p": boschloo(x, n, y, m),
            "equivalence": self._equivalence(x, n, y, m),
            "groups drawn": basis != "not-drawn",
        }

    def _equivalence(self, x: int, n: int, y: int, m: int) -> Words | None:
        """Two one-sided exact tests at alpha that the shares are within the margin."""
        margin = self.pc - self.p0
        if n + m > 2000 or margin >= 1:
            return None
        p = max(apart(x, n, y, m, margin), apart(y, m, x, n, margin))
        return {"margin": margin, "p": p, "alike": p <= float(self.plan["alpha"])}


NUMBERS = (
    "decisive count",
    "power",
    "detectable discriminators",
    "p",
    "critical number",
    "p at the similarity limit",
    "share",
    "share interval",
    "discriminators",
    "discriminators interval",
    "d-prime",
    "d-prime interval",
    "flat prior",
)


def _table(content: bytes) -> list[Row]:
    return list(csv.DictReader(io.StringIO(content.decode(), newline="")))


def _both(sittings: Iterable[Words]) -> bool:
    return {"blinded", "informed"} <= {one["information"] for one in sittings}
