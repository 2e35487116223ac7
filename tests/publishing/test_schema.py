"""findings.json: plain JSON, complete, and described field by field."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from panel.core.amendment import Amendment
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.publishing.schema import FORMAT, VERSION, result_words
from tests.publishing.opened import opened, result
from tests.results import NOON, comparison, evening, right_and_wrong, two_tables

DOCUMENT = Path(__file__).parents[2] / "docs" / "findings.md"
CHANGE = Amendment(number=1, made=NOON, what="A larger room.", reason="More people came.")


def words() -> dict[str, Any]:
    event, _ = opened(two_tables(told=2))
    return result_words(result(event, CHANGE), event.comparison)


def test_it_is_plain_json_without_nan():
    known = words()
    assert json.loads(json.dumps(known, allow_nan=False)) == known
    assert (known["format"], known["version"]) == (FORMAT, VERSION)


def test_it_holds_the_numbers_of_the_page():
    known = words()
    blinded = known["findings"][0]
    assert (blinded["correct"], blinded["tasters"], blinded["verdict"]) == (15, 36, "not-shown")
    assert blinded["p"] == pytest.approx(0.18723004923841283)  # scipy.stats.binomtest
    assert blinded["decisive count"] == 18
    assert blinded["with told"]["correct"] == 17
    assert blinded["said"][0] == "15 of 36 blinded tasters found the odd cup."
    assert known["differences"][0]["informed"] == [9, 12]
    assert known["plan"]["chance"] == "1/3"
    assert known["plan"]["alpha"] == "0.05"
    assert known["seal"]["before serving"] is True
    assert known["amendments"][0]["made"] == "2026-03-14T12:00:00Z"
    assert {caution["id"] for caution in known["cautions"]} >= {"told-at-the-table"}


def test_trays_add_up_in_it():
    trays = words()["trays"]
    assert trays["drawn"] == trays["unused"] + trays["used"]
    assert trays["used"] == sum(trays["set aside"].values()) + sum(
        trays[name] for name in ("without ballot", "late", "in question", "told", "counted")
    )


def test_a_preference_has_no_d_prime():
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2)
    event, _ = opened(evening(comparison(plan), right_and_wrong("blue", 9, 20)))
    (finding,) = result_words(result(event), event.comparison)["findings"]
    assert finding["counted beer"] == "A"
    assert finding["d-prime"] is None
    assert finding["share"] == pytest.approx(9 / 20)


def test_nobody_has_numbers_that_are_none():
    event, _ = opened(evening(comparison(), []))
    (finding,) = result_words(result(event), event.comparison)["findings"]
    assert finding["p"] is None
    assert finding["share"] is None


def names(value: Any) -> set[str]:
    """Every field name at any depth, but not the names of sittings and of reasons."""
    found: set[str] = set()
    if isinstance(value, dict):
        for name, part in value.items():
            if name == "trays by sitting":
                part = list(part.values())
            elif name in ("set aside", "set aside before"):
                part = None
            found |= {name} | names(part)
    elif isinstance(value, list):
        for part in value:
            found |= names(part)
    return found


def test_every_field_is_described():
    described = set(re.findall(r"`([^`]+)`", DOCUMENT.read_text(encoding="utf-8")))
    assert names(words()) - described == set()
