"""Nose first in a bundle: both choices of every ballot are in it, and everybody can count them."""

import csv
import io
import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from scipy import stats

from panel.cli import demo
from panel.core.names import Role, Smell
from panel.services import check_published, show_result
from panel.services.play_event import play
from panel.services.workplace import Actor, Workplace
from tests.printing.papers import text_of
from tests.publishing.packages import Files, unpacked, with_json, with_text
from tests.publishing.whole_event import place, whole_event


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Workplace, str]]:
    with place(tmp_path_factory.mktemp("nose-first")) as at:
        yield at, whole_event(at, smell=Smell.FIRST).slug


@pytest.fixture(scope="module")
def bundle(published: tuple[Workplace, str]) -> bytes:
    return show_result.public_bundle(*published)


@pytest.fixture
def files(bundle: bytes) -> Files:
    return unpacked(bundle)


def table(files: Files, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(files[name].decode(), newline="")))


def by_hand(files: Files) -> dict[str, Counter[str]]:
    """Group to changes of the triangle test, from ballots.csv and cups.csv alone."""
    beers: dict[str, dict[str, str]] = {}
    for cup in table(files, "cups.csv"):
        beers.setdefault(cup["tray"], {})[cup["code"]] = cup["beer"]
    found: dict[str, Counter[str]] = {}
    for row in table(files, "ballots.csv"):
        on_tray = beers[row["tray"]]
        odd = next(c for c, b in on_tray.items() if list(on_tray.values()).count(b) == 1)
        nose, taste = row["other_answer"], row["answer"]
        if nose == taste:
            change = "stayed-right" if taste == odd else "stayed-wrong"
        else:
            change = {nose: "to-wrong", taste: "to-right"}.get(odd, "other-wrong")
        found.setdefault(row["counts_as"], Counter())[change] += 1
    return found


def test_the_two_steps_follow_from_the_tables(files: Files) -> None:
    found = by_hand(files)
    steps: list[dict[str, Any]] = json.loads(files["findings.json"])["two steps"]
    assert {one["stratum"] for one in steps} >= {"blinded", "informed", "told-at-the-table"}
    for one in steps:
        if one["stratum"].startswith("repeat"):
            continue  # by taster; the group below holds them all
        counts = found[one["stratum"]]
        for change in ("stayed-right", "stayed-wrong", "to-right", "to-wrong", "other-wrong"):
            assert one[change] == counts[change], (one["stratum"], change)
        assert one["paired"] == sum(counts.values())
        assert one["right by smell"] == counts["stayed-right"] + counts["to-wrong"]
        assert one["decides"] == "taste"
        moved = counts["to-right"] + counts["to-wrong"]
        if moved and one["stratum"] != "told-at-the-table":
            p = stats.binomtest(counts["to-right"], moved).pvalue
            assert one["p"] == pytest.approx(p, rel=1e-12)
    assert sum(one["changed"] for one in steps) > 5


def test_it_checks(bundle: bytes) -> None:
    assert [line for line in check_published.check(bundle, "") if not line.holds] == []


def test_another_first_choice_does_not(files: Files) -> None:
    row = next(r for r in table(files, "ballots.csv") if r["counts_as"] == "blinded")
    codes = [c["code"] for c in table(files, "cups.csv") if c["tray"] == row["tray"]]
    other = next(code for code in codes if code not in (row["answer"], row["other_answer"]))
    old = f",{row['answer']},{row['other_answer']},"
    line = next(
        one
        for one in files["ballots.csv"].decode().splitlines()
        if one.startswith(f"{row['tray']},")
    )
    new = line.replace(old, f",{row['answer']},{other},", 1)
    assert new != line
    forged = with_text(files, "ballots.csv", line, new)
    assert {one.item for one in check_published.check(forged, "") if not one.holds} == {"findings"}


def test_nor_another_count(files: Files) -> None:
    def one_more(words: Any) -> None:
        words["two steps"][0]["to-right"] += 1

    forged = with_json(files, "findings.json", one_more)
    assert "findings" in {one.item for one in check_published.check(forged, "") if not one.holds}


def test_a_code_that_is_not_on_the_tray_is_no_answer(files: Files) -> None:
    row = table(files, "ballots.csv")[0]
    old = f",{row['answer']},{row['other_answer']},"
    forged = with_text(files, "ballots.csv", old, f",{row['answer']},000,")
    assert [one for one in check_published.check(forged, "") if not one.holds]


def test_where_it_was_not_asked_no_table_speaks_of_it(event, files: Files) -> None:
    at, known = event
    usual = unpacked(show_result.public_bundle(at, known.slug))
    assert "other_answer" in files["ballots.csv"].decode()
    assert "other_answer" not in usual["ballots.csv"].decode()
    assert "two steps" not in json.loads(usual["findings.json"])
    assert "smell" not in json.loads(usual["plan.json"])["plan"]
    assert json.loads(files["plan.json"])["plan"]["smell"] == "first"


def test_an_invented_evening_can_be_nose_first(tmp_path: Path) -> None:
    event = demo.invented_event()
    event["plan"] = {**event["plan"], "smell": "first", "deciding_step": "nose"}
    with place(tmp_path) as at:
        known = play(at, Actor(Role.ORGANISER, "demo", name="demo"), event)
        steps = json.loads(unpacked(show_result.public_bundle(at, known.slug))["findings.json"])
    assert {one["decides"] for one in steps["two steps"]} == {"nose"}
    assert sum(one["paired"] for one in steps["two steps"]) > 30
    assert sum(one["changed"] for one in steps["two steps"]) > 5


def test_the_report_says_it_of_every_group(published: tuple[Workplace, str]) -> None:
    said = text_of(show_result.public_report(*published).pdf)
    assert said.count("By smell, and after tasting") >= 3
    assert "decides nothing" in said
    assert "McNemar’s exact test" in said
    assert "chosen by smell alone, then again after tasting" in said
