"""Blinding follows from who does what; ICH E6 and CONSORT ask for who was blinded, not a wish."""

from dataclasses import fields

import pytest

from panel.core.blinding import blinding_given, blinding_of, recipe
from panel.core.duties import Duties, duties_from, duties_words
from panel.core.names import Blinding, Helpers


@pytest.mark.parametrize(
    ("helpers", "relabelled", "server_knows", "given"),
    [
        (Helpers.ALONE, None, False, Blinding.SINGLE),
        (Helpers.ALONE, True, False, Blinding.SINGLE),
        (Helpers.TWO, None, False, Blinding.DOUBLE),
        (Helpers.TWO, True, False, Blinding.DOUBLE),
        (Helpers.TWO, None, True, Blinding.SINGLE),
        (Helpers.THREE, None, False, Blinding.TRIPLE),
        (Helpers.THREE, False, False, Blinding.DOUBLE),
        (Helpers.THREE, True, True, Blinding.SINGLE),
    ],
)
def test_blinding_is_derived(helpers, relabelled, server_knows, given):
    blinding, sentence = blinding_given(helpers, relabelled=relabelled, server_knows=server_knows)
    assert blinding is given
    assert f"{given.value} blinding" in str(sentence)


@pytest.mark.parametrize("helpers", Helpers)
def test_every_recipe_keeps_the_helpers_from_being_counted(helpers):
    text = " ".join(str(step) for step in recipe(helpers))
    assert "tastes" in text or "taste by yourself" in text


def test_two_do_not_read_back_to_each_other():
    """A second reader would see the mat, and the steward must not (double blinding)."""
    steps = [str(step) for step in recipe(Helpers.TWO)]
    assert any("do not talk" in step for step in steps)
    assert not any("second person reads" in step for step in steps)


# --- from who does what ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("helpers", "duties", "given"),
    [
        (Helpers.ALONE, Duties(), Blinding.SINGLE),
        (Helpers.TWO, Duties(), Blinding.DOUBLE),
        (Helpers.TWO, Duties(server_brewed=True), Blinding.SINGLE),
        (Helpers.TWO, Duties(server_pours=True), Blinding.SINGLE),
        (Helpers.TWO, Duties(server_has_key=True), Blinding.SINGLE),
        (Helpers.TWO, Duties(labels_seen=True), Blinding.DOUBLE),
        (Helpers.TWO, Duties(helper_tastes=True, organiser_tastes=True), Blinding.DOUBLE),
        (Helpers.THREE, Duties(), Blinding.TRIPLE),
        (Helpers.THREE, Duties(labels_seen=True), Blinding.DOUBLE),
        (Helpers.THREE, Duties(server_has_key=True), Blinding.SINGLE),
    ],
)
def test_the_level_follows_from_the_parts_that_people_have(helpers, duties, given):
    level, why = blinding_of(helpers, duties)
    assert level is given
    assert f"{given.value} blinding" in str(why[0])


@pytest.mark.parametrize("part", [field.name for field in fields(Duties)])
def test_every_second_part_is_said(part):
    """In the sentences before sealing; names in view are said by the level itself."""
    plain = blinding_of(Helpers.THREE, Duties())[1]
    said = blinding_of(Helpers.THREE, Duties(**{part: True}))[1]
    assert said != plain


def test_alone_nobody_carries_what_somebody_else_poured():
    assert len(blinding_of(Helpers.ALONE, Duties(server_pours=True))[1]) == 1


def test_duties_come_back_from_their_words():
    for field in fields(Duties):
        duties = Duties(**{field.name: True})
        assert duties_from(duties_words(duties)) == duties
    assert duties_from({"server_pours": "yes", "unknown": True}) == Duties()
