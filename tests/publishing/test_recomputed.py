"""Every published number, held against what scipy alone makes of the bundle's other files."""

import ast
import json
import math
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panel.cli import demo
from panel.core.methods import METHODS, ForcedChoice, method_named
from panel.core.names import (
    Aim,
    CardStanding,
    Information,
    Knew,
    Outcome,
    Reason,
    SittingKind,
)
from panel.core.plan import Plan
from panel.publishing.bundle import Choice, Published, bundle_files
from panel.publishing.bundle_tables import Counted
from panel.publishing.report.edition import Edition
from panel.services import show_result
from tests.publishing.opened import opened, result
from tests.publishing.packages import Files, unpacked
from tests.publishing.recomputed import recomputed
from tests.publishing.whole_event import place, whole_event
from tests.results import (
    Answered,
    Evening,
    comparison,
    evening,
    right_and_wrong,
    sitting,
    times,
    two_tables,
)

FORCED = [name for name, one in METHODS.items() if isinstance(one, ForcedChoice)]
SENTENCES = {"said"}
NAMES = {"stratum", "information", "method", "confidence", "test", "verdicts differ", "received"}
NAMES |= {"mean", "spread"}  # where the likelihood is flat two searches end apart; its top is held
"""Words that are no number, and facts that follow from others; `panel check` holds these."""


def published(words: dict[str, Any]) -> dict[str, Any]:
    """findings.json without sentences and names, an interval as its two ends."""
    kept = (
        "findings",
        "differences",
        "parts of a total",
        "repeat trials together",
        "trays",
        "trays by sitting",
    )
    return {
        **{name: _bare(words[name]) for name in kept},
        "late": [one["tray"] for one in words["late"]],
    }


def _bare(value: Any) -> Any:
    if isinstance(value, dict):
        if "low" in value and "high" in value:
            return [value["low"], value["high"]]
        return {n: _bare(part) for n, part in value.items() if n not in SENTENCES | NAMES}
    return [_bare(part) for part in value] if isinstance(value, list) else value


def differing(given: Any, made: Any, where: str = "") -> Iterator[str]:
    """Where two values are not the same: numbers to a millionth, all else exactly."""
    if isinstance(given, dict) and isinstance(made, dict):
        for name in given.keys() | made.keys():
            if name not in given or name not in made:
                yield f"{where}.{name} is in one only"
            else:
                yield from differing(given[name], made[name], f"{where}.{name}")
    elif isinstance(given, list) and isinstance(made, list):
        if len(given) != len(made):
            yield f"{where}: {len(given)} and {len(made)} entries"
        for at, (one, other) in enumerate(zip(given, made, strict=False)):
            yield from differing(one, other, f"{where}[{at}]")
    elif isinstance(given, float) or isinstance(made, float):
        numbers = isinstance(given, int | float) and isinstance(made, int | float)
        if not (numbers and math.isclose(given, made, rel_tol=1e-6, abs_tol=1e-7)):
            yield f"{where}: {given} and {made}"
    elif given != made or type(given) is not type(made):
        yield f"{where}: {given} and {made}"


def odd(files: Files) -> list[str]:
    return list(differing(published(json.loads(files["findings.json"])), recomputed(files)))


@pytest.mark.parametrize("name", ["recomputed.py", "by_scipy.py"])
def test_it_knows_nothing_of_this_program(name):
    source = (Path(__file__).parent / name).read_text(encoding="utf-8")
    imported = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            imported |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            imported.add(str(node.module))
    foreign = imported - {"tests.publishing.by_scipy"}
    assert not {module.split(".")[0] for module in foreign} & {"panel", "tests"}
    assert 'files["findings.json"]' not in source


@pytest.mark.parametrize("method", FORCED)
def test_a_whole_event_of_every_method(method, tmp_path):
    with place(tmp_path) as at:
        known = whole_event(at, method=method)
        files = unpacked(show_result.public_bundle(at, known.slug))
    assert odd(files) == []


def test_the_demo(tmp_path):
    with place(tmp_path) as at:
        known = demo.played(at)
        files = unpacked(show_result.public_bundle(at, known.slug))
    assert odd(files) == []


def files_of(event: Evening) -> Files:
    """The bundle of an evening made by hand: no draw, no record."""
    known, seal = opened(event)
    counted = Counted(
        comparison=known.comparison, key=known.key, trays=known.trays, ballots=known.ballots
    )
    whole = Published(result=result(known), counted=counted, opened=seal)
    return bundle_files(whole, Choice(edition=Edition(link="", software="panel 0.0")))


def plans() -> Iterator[tuple[str, Plan]]:
    """Every method with every aim and number of sides that it has, and other risks and limits."""
    for method in map(method_named, FORCED):
        named = {"attribute": "bitter", "stronger": "B"} if method.directional else {}
        for sides in method.sides:
            for aim in (Aim.DIFFERENCE, Aim.SIMILARITY, Aim.PREFERENCE):
                if (aim is Aim.PREFERENCE) is (method.id == "paired-preference"):
                    plan = Plan(method=method.id, aim=aim, sides=sides, tasters=24, **named)
                    yield f"{method.id}-{aim}-{sides}", plan
    yield "strict", Plan(method="triangle", alpha=Decimal("0.01"), pd=Decimal("0.5"))
    limit = Plan(method="tetrad", pd=None, d_prime=Decimal("1.5"), beta=Decimal("0.1"))
    yield "by d-prime", replace(limit, aim=Aim.SIMILARITY)


PLANS = dict(plans())
SPARE = Answered(sitting="blue", outcome=None, standing=CardStanding.PRINTED, spare=True)


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("tasters", [0, 2, 31])
def test_every_plan_at_some_counts(name, tasters):
    plan = PLANS[name]
    for right in {0, tasters // 3, 2 * tasters // 3, tasters}:
        event = evening(comparison(plan), (*right_and_wrong("blue", right, tasters), SPARE))
        assert odd(files_of(event)) == [], right


def test_those_who_chose_nothing_are_counted_apart():
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2, no_preference=True)
    nobody = Answered(sitting="blue", outcome=Outcome.NO_CHOICE)
    files = files_of(
        evening(comparison(plan), (*right_and_wrong("blue", 9, 20), *times(3, nobody)))
    )
    assert odd(files) == []
    assert recomputed(files)["findings"][0]["no choice"] == 3


DEEDS = st.builds(
    Answered,
    sitting=st.sampled_from(["drawn", "drawn-told", "plain", "plain-told", "home", "kitchen"]),
    outcome=st.sampled_from([None, Outcome.RIGHT, Outcome.WRONG]),
    knew=st.sampled_from([(), (Knew.NOTHING,), (Knew.VARIABLE,), (Knew.HELPED, Knew.BEFORE)]),
    standing=st.sampled_from(CardStanding),
    reason=st.sampled_from([None, *Reason]),
    late=st.booleans(),
    taster=st.sampled_from(["", "7", "Fir"]),
    out=st.booleans(),
)


@settings(max_examples=30, deadline=None)
@given(st.lists(DEEDS, max_size=25), st.booleans())
def test_evenings_on_which_anything_happened(deeds, join):
    told = Information.INFORMED
    compared = comparison(
        Plan(method="triangle", join_sittings=join),
        sitting("drawn", groups_drawn=True),
        sitting("drawn-told", told, groups_drawn=True),
        sitting("plain"),
        sitting("plain-told", told),
        sitting("home", kind=SittingKind.PARCEL),
        sitting("kitchen", kind=SittingKind.REPEAT),
    )
    fitting = [
        one
        if one.standing is CardStanding.SET_ASIDE and one.reason
        else replace(
            one,
            reason=None,
            standing=CardStanding.RETURNED
            if one.standing is CardStanding.SET_ASIDE
            else one.standing,
        )
        for one in deeds
    ]
    every = [*fitting, *(Answered(sitting=one.id) for one in compared.sittings)]  # a tray of each
    assert odd(files_of(evening(compared, every))) == []


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("findings.json", '"correct": 15', '"correct": 16'),
        ("findings.json", '"p": 0.1', '"p": 0.2'),
        ("findings.json", '"critical number": 18', '"critical number": 17'),
        ("findings.json", '"informed": [\n        9', '"informed": [\n        8'),
        ("findings.json", '"handed out": 48', '"handed out": 47'),
    ],
)
def test_another_number_is_another(name, old, new):
    files = files_of(two_tables())
    text = files[name].decode()
    assert odd(files) == []
    assert old in text
    assert odd({**files, name: text.replace(old, new, 1).encode()}) != []
