"""Published hits and false alarms, held against what scipy alone makes of the bundle's tables."""

import csv
import io
import json
from collections import defaultdict
from itertools import groupby

import pytest
from scipy import stats

from panel.services import show_result
from tests.kinds import DETECTION
from tests.publishing.packages import Files, unpacked
from tests.publishing.whole_event import place, whole_event


def rows(files: Files, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(files[name].decode())))


def signs(files: Files, method: str) -> dict[str, list[list[tuple[bool, bool]]]]:
    """Group to its ballots, each as (true, said so) of what it was asked, from the tables alone."""
    held = {
        tray: {row["code"]: row["beer"] for row in cups}
        for tray, cups in groupby(rows(files, "cups.csv"), lambda row: row["tray"])
    }
    found = defaultdict(list)
    for row in rows(files, "ballots.csv"):
        cups, words = held[row["tray"]], row["answer"].split()
        if method == "same-different":
            mine = [(len(set(cups.values())) == 2, word == "different") for word in words]
        else:
            parted = [word.split(":") for word in words]
            mine = [(cups[code] == "A", value == "yes") for code, value in parted]
        found[row["counts_as"]].append(mine)
    return found


@pytest.mark.parametrize("method", DETECTION)
def test_every_group_is_counted_again_and_tested_by_scipy(method, tmp_path):
    with place(tmp_path) as at:
        known = whole_event(at, method=method)
        files = unpacked(show_result.public_bundle(at, known.slug))
    said = json.loads(files["findings.json"])
    counted = signs(files, method)
    assert {"blinded", "informed", "told-at-the-table"} <= {
        one["group"] for one in said["findings"]
    }
    for one in said["findings"]:
        if one["group"] == "repeat-trials":
            continue  # one taster each; the table has no name to part them by here
        mine = [sign for ballot in counted[one["group"]] for sign in ballot]
        hits = [told for true, told in mine if true]
        alarms = [told for true, told in mine if not true]
        assert one["hits"] == [sum(hits), len(hits)]
        assert one["false alarms"] == [sum(alarms), len(alarms)]
        if not hits or not alarms:
            assert one["p"] is None
            continue
        check(one, hits, alarms, counted[one["group"]])
        check_d_prime(method, one)
    for one in said["differences"]:
        assert 0 < one["p"] <= 1


def check(one, hits, alarms, ballots):
    """The test, the rates, the excess and d-prime of one group."""
    if one["test"] == "fisher":
        table = [[sum(hits), sum(alarms)], [hits.count(False), alarms.count(False)]]
        known = stats.fisher_exact(table, alternative="greater").pvalue
    else:
        pairs = [(dict(ballot)[True], dict(ballot)[False]) for ballot in ballots]
        alone, other = pairs.count((True, False)), pairs.count((False, True))
        assert (one["hit alone"], one["false alarm alone"]) == (alone, other)
        known = stats.binom.sf(alone - 1, alone + other, 0.5)
    assert one["p"] == pytest.approx(known, rel=1e-9)
    assert one["hit rate"] == pytest.approx(sum(hits) / len(hits))
    assert one["excess"] == pytest.approx(sum(hits) / len(hits) - sum(alarms) / len(alarms))
    exact = stats.binomtest(sum(hits), len(hits)).proportion_ci(0.95, "exact")
    assert one["hit rate interval"]["low"] == pytest.approx(exact.low)
    assert one["hit rate interval"]["high"] == pytest.approx(exact.high)


def check_d_prime(method, one):
    """By scipy's normal curve, where no rate is nought or one."""
    hit, alarm = one["hit rate"], one["false-alarm rate"]
    if min(hit, alarm) == 0 or max(hit, alarm) == 1:
        return
    below, z = stats.norm.cdf, stats.norm.ppf
    if method != "same-different":
        assert one["d-prime"] == pytest.approx(z(hit) - z(alarm), abs=1e-9)
        assert one["line"] == pytest.approx(-(z(hit) + z(alarm)) / 2, abs=1e-9)
    elif hit > alarm:
        root, d, tau = 2**0.5, one["d-prime"], one["line"]
        assert 2 * below(-tau / root) == pytest.approx(alarm, abs=1e-9)
        assert below((d - tau) / root) + below((-d - tau) / root) == pytest.approx(hit, abs=1e-9)
    else:
        assert one["d-prime"] == 0
