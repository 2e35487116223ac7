"""Smell as a step of its own: script, cautions, alcohol and advice say so and nothing else."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from panel.core.alcohol import alcohol, alcohol_at_most
from panel.core.methods import METHODS
from panel.core.names import SittingKind, Smell
from panel.core.readiness import obstacles
from panel.core.script import cautions, order_of_the_evening, script_of
from tests.core.invented import NOW, a_comparison

MOUTH = re.compile(r"\b(tast\w*|sip|sips|swallow\w*|spit\w*|rinse)\b", re.IGNORECASE)


def smelling(smell: Smell, method: str = "triangle", **serving):
    known = a_comparison()
    plan = replace(known.plan, method=method, smell=smell, attribute="fruity", stronger="A")
    return replace(known, plan=plan, serving=replace(known.serving, **serving))


def aloud(comparison, kind: SittingKind) -> str:
    script = script_of(comparison, replace(comparison.sittings[0], kind=kind))
    return " ".join(str(one) for paragraph in script.paragraphs for one in paragraph.said)


@pytest.mark.parametrize("kind", SittingKind)
@pytest.mark.parametrize("method", METHODS)
def test_where_nothing_is_drunk_nobody_hears_of_tasting(method, kind):
    said = aloud(smelling(Smell.ONLY, method), kind)
    assert "Nothing is drunk: the cups are only smelled." in said
    assert not MOUTH.search(said), MOUTH.findall(said)


@pytest.mark.parametrize("kind", [SittingKind.TABLE, SittingKind.REPEAT])
@pytest.mark.parametrize("method", METHODS)
def test_nose_first_the_first_choice_is_marked_before_the_first_sip(method, kind):
    said = aloud(smelling(Smell.FIRST, method), kind)
    order = [
        "Before you smell the first cup",
        "Do not sip yet",
        "before the first sip",
        "Then taste and choose once more",
        "Taste from left to right",
    ]
    places = [said.index(one) for one in order]
    assert places == sorted(places)


def test_the_usual_script_is_as_it_was():
    said = aloud(smelling(Smell.WITH_TASTE), SittingKind.TABLE)
    assert "smell" not in said.lower()
    assert "Before the first sip" in said


def test_who_drives_or_does_not_drink_may_smell():
    said = " ".join(map(str, cautions(smelling(Smell.ONLY))))
    assert "people who drive or do not drink may take part" in said
    assert "and nothing of it is drunk" in said
    assert "may take part" not in " ".join(map(str, cautions(smelling(Smell.FIRST))))
    assert "spit cup" not in " ".join(map(str, order_of_the_evening(smelling(Smell.ONLY))))


def test_what_is_not_drunk_is_not_counted():
    smelled, tasted = smelling(Smell.ONLY), smelling(Smell.WITH_TASTE)
    assert alcohol(smelled).grams == 0
    assert alcohol_at_most(smelled).grams == 0
    assert str(alcohol(smelled).sentence) == "The cups are only smelled, so no alcohol is counted."
    # an evening with both counts what is drunk
    assert alcohol(smelled, [tasted]).grams == alcohol(tasted).grams
    assert alcohol(smelling(Smell.FIRST)).grams == alcohol(tasted).grams


def test_an_unknown_strength_hinders_nobody_from_smelling():
    known = smelling(Smell.ONLY)
    known = replace(known, beers=tuple(replace(beer, abv=None) for beer in known.beers))
    assert alcohol(known).grams == Decimal(0)


def advice(comparison) -> dict[str, str]:
    return {one.field: str(one.message) for one in obstacles(comparison, NOW) if not one.blocking}


def test_lids_and_a_small_pour_are_advised():
    assert "put a lid on each" in advice(smelling(Smell.ONLY))["vessel"]
    assert "put a lid on each" in advice(smelling(Smell.FIRST))["vessel"]
    assert "vessel" not in advice(smelling(Smell.WITH_TASTE))
    assert advice(smelling(Smell.ONLY, millilitres=50))["millilitres"].startswith("For smelling")
    assert "millilitres" not in advice(smelling(Smell.ONLY, millilitres=20))


def test_a_nose_is_not_asked_for_bitterness_without_a_word():
    assert "Can a nose tell" in advice(smelling(Smell.FIRST, "paired"))["attribute"]
    assert "attribute" not in advice(smelling(Smell.FIRST, "triangle"))
