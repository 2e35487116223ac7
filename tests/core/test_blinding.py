"""Blinding follows from who does what; ICH E6 and CONSORT ask for who was blinded, not a wish."""

import pytest

from panel.core.blinding import blinding_given, recipe
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
