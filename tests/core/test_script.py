"""The script: one for screen and paper, in words of each kind of sitting."""

from dataclasses import replace

import pytest

from panel.core.methods import METHODS, method_named
from panel.core.names import Information, SittingKind
from panel.core.script import Script, script_of
from tests.core.invented import a_comparison

TOLD = "One of the two was fermented cooler."


def the_script(
    kind: SittingKind = SittingKind.TABLE,
    information: Information = Information.BLINDED,
    method: str = "triangle",
) -> Script:
    comparison = a_comparison()
    comparison = replace(comparison, plan=replace(comparison.plan, method=method))
    sitting = replace(comparison.sittings[0], kind=kind, information=information, told=TOLD)
    return script_of(comparison, sitting)


def aloud(script: Script) -> str:
    return " ".join(str(one) for paragraph in script.paragraphs for one in paragraph.said)


@pytest.mark.parametrize("kind", SittingKind)
def test_only_an_informed_sittings_script_says_what_was_changed(kind: SittingKind) -> None:
    informed = the_script(kind, Information.INFORMED)
    assert aloud(informed).count(TOLD) == 1
    assert informed.tells
    for information in (Information.BLINDED, Information.SPLIT):
        other = the_script(kind, information)
        assert TOLD not in aloud(other)
        assert not other.tells


def test_what_is_told_is_all_that_an_informed_script_has_more() -> None:
    blinded, informed = the_script(), the_script(information=Information.INFORMED)
    assert tuple(one for one in informed.paragraphs if not one.told) == blinded.paragraphs


def test_at_a_split_sitting_the_slip_is_read_after_one_has_said_what_one_knew() -> None:
    said = aloud(the_script(information=Information.SPLIT))
    assert said.index("what you knew") < said.index("folded slip") < said.index("Rinse")
    assert "folded slip" not in aloud(the_script())


def test_each_kind_of_sitting_has_words_of_its_own() -> None:
    scripts = {kind: the_script(kind) for kind in SittingKind}
    assert len({str(script.title) for script in scripts.values()}) == len(SittingKind)
    said = {kind: aloud(script) for kind, script in scripts.items()}
    assert "In front of you" in said[SittingKind.TABLE]
    assert "faces" in said[SittingKind.TABLE]
    assert "In this parcel" in said[SittingKind.PARCEL]
    assert "in rounds of 3 cups" in said[SittingKind.REPEAT]
    for kind in (SittingKind.PARCEL, SittingKind.REPEAT):  # nobody sits opposite
        assert "faces" not in said[kind]
        assert "the steward" not in said[kind]
    for words in said.values():
        assert "own free will" in words
        assert "what you knew" in words
        assert "not both" in words


@pytest.mark.parametrize("method", METHODS)
def test_at_the_table_the_method_speaks_in_its_own_words(method: str) -> None:
    known = method_named(method)
    said = aloud(the_script(method=method))
    assert str(known.instruction) in said
    assert f"{known.cups} cups" in said
