"""A published ranking, held against what scipy alone makes of the bundle's tables."""

import csv
import io
import json
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest
from scipy import stats

from panel.core.plan import Plan
from panel.services import show_result
from tests.builders import plan_for
from tests.publishing.packages import Files, unpacked
from tests.publishing.whole_event import place, whole_event

Rows = list[dict[str, str]]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Files:
    """The bundle of a whole event of three drinks."""
    with place(tmp_path_factory.mktemp("ranked")) as at:
        known = whole_event(at, method="ranking")
        return unpacked(show_result.public_bundle(at, known.slug))


def table(files: Files, name: str) -> Rows:
    return list(csv.DictReader(io.StringIO(files[name].decode())))


def places(files: Files) -> dict[str, list[dict[str, int]]]:
    """Group to the places that each of its ballots gives, read from the tables alone."""
    held = {(row["tray"], row["code"]): row["beer"] for row in table(files, "cups.csv")}
    found = defaultdict(list)
    for row in table(files, "ballots.csv"):
        ranked = [held[row["tray"], code] for code in row["answer"].split()]
        found[row["counts_as"]].append({beer: at for at, beer in enumerate(ranked, start=1)})
    return found


def findings(files: Files) -> list[dict[str, Any]]:
    found = json.loads(files["findings.json"])["findings"]
    assert isinstance(found, list)
    return found


def test_places_and_friedman_of_every_group(files: Files) -> None:
    said = findings(files)
    ranked = places(files)
    assert {"blinded", "informed"} <= {one["group"] for one in said}
    for one in said:
        mine = ranked[one["group"]]
        if one["group"] == "repeat-trials":
            mine = [tray for tray in mine if tray]
        assert one["tasters"] == len(mine)
        sums = {beer: sum(tray[beer] for tray in mine) for beer in "ABC"}
        assert one["rank sums"] == sums
        if len(mine) < 2:
            continue
        known = stats.friedmanchisquare(*([tray[beer] for tray in mine] for beer in "ABC"))
        assert one["all alike"]["statistic"] == pytest.approx(known.statistic, abs=1e-9)
        assert one["all alike"]["degrees of freedom"] == 2
        assert one["all alike"]["exact"] is True
        q = stats.studentized_range.ppf(0.95, 3, float("inf"))
        assert one["least distance, all pairs"] == pytest.approx(q / len(mine) ** 0.5, rel=1e-6)


def test_the_exact_p_value_by_shuffling_every_tray(files: Files) -> None:
    """By scipy's own counting of arrangements: many draws, so within four standard errors."""
    (blinded,) = [one for one in findings(files) if one["group"] == "blinded"]
    ranked = [[tray[beer] for beer in "ABC"] for tray in places(files)["blinded"]]

    def spread(*columns: Any, axis: int) -> Any:
        return sum((column.sum(axis=axis) - 2 * len(ranked)) ** 2 for column in columns)

    tested = stats.permutation_test(
        [list(column) for column in zip(*ranked, strict=True)],
        spread,
        permutation_type="samples",
        alternative="greater",
        n_resamples=20_000,
        rng=7,
    )
    p = blinded["p"]
    assert tested.pvalue == pytest.approx(p, abs=4 * (p * (1 - p) / 20_000) ** 0.5 + 1e-4)


def test_a_named_order_by_scipys_page_test(tmp_path: Path) -> None:
    plan: Plan = plan_for("ranking")
    with place(tmp_path) as at:
        known = whole_event(at, method="ranking", expected_order="CAB")
        made = unpacked(show_result.public_bundle(at, known.slug))
    assert plan.expected_order == ""
    for one in findings(made):
        ranked = places(made)[one["group"]]
        if one["group"] not in ("blinded", "informed"):
            continue
        known_test = stats.page_trend_test(
            [[tray[beer] for beer in "CAB"] for tray in ranked], ranked=True, method="exact"
        )
        assert one["named order"]["statistic"] == known_test.statistic
        assert one["p"] == pytest.approx(known_test.pvalue, rel=1e-9)
