"""Findings side by side: apart by what was known and asked, none left out for what came of it."""

from dataclasses import replace
from fractions import Fraction

import pytest

from panel.core.comparison import Comparison
from panel.core.findings import CONFIDENCE
from panel.core.kinds import AnyFinding
from panel.core.names import Aim, Information, SittingKind, Smell
from panel.core.plan import Plan
from panel.core.result import result_of
from panel.core.side_by_side import Apart, SideBySide, side_by_side
from panel.core.statistics import Panel, combine
from panel.core.wording.side_by_side import (
    NOTES,
    combined_rows,
    question_of,
    say_apart,
    say_together,
)
from tests.core.wording.banned import BANNED, STATISTICIANS
from tests.results import Evening, comparison, evening, right_and_wrong, sitting, two_tables

Found = tuple[Comparison, tuple[AnyFinding, ...]]


def found(event: Evening) -> Found:
    result = result_of(event.comparison, event.key, event.trays, event.ballots)
    return event.comparison, result.findings


def table(right: int, tasters: int, method: str = "triangle", **plan: object) -> Found:
    asked = Plan(method=method, attribute="bitter", stronger="B", **plan)  # type: ignore[arg-type]
    return found(evening(comparison(asked), right_and_wrong("blue", right, tasters)))


def words(laid: SideBySide) -> str:
    """Everything that is said of the first design."""
    parts = say_together(laid.sides[0].designs[0])
    return " ".join(str(sentence) for part in parts for sentence in part)


def test_blinded_and_informed_never_meet() -> None:
    evenings = two_tables((15, 36), (9, 12)), two_tables((20, 36), (3, 12))
    laid = side_by_side(map(found, evenings))
    assert [side.information for side in laid.sides] == [Information.BLINDED, Information.INFORMED]
    for side, counts in zip(laid.sides, (((15, 36), (20, 36)), ((9, 12), (3, 12))), strict=True):
        (design,) = side.designs
        panels = [Panel(x, n, Fraction(1, 3)) for x, n in counts]
        assert design.combined == combine(panels, CONFIDENCE)
        assert [entry.mark for entry in design.entries] == ["1", "2"]
        assert {entry.finding.information for entry in design.entries} == {side.information}
    assert laid.others == ()


def test_another_aim_another_question_and_the_nose_are_not_added_up() -> None:
    laid = side_by_side(
        [
            table(15, 36),
            table(16, 36, "duo-trio"),
            table(10, 36, aim=Aim.SIMILARITY),
            table(17, 36, smell=Smell.ONLY),
            table(17, 36, "3-afc"),
            table(12, 30, "tetrad-specified"),
        ]
    )
    (side,) = laid.sides
    marks = [tuple(entry.mark for entry in one.entries) for one in side.designs]
    assert marks == [("1", "2"), ("3",), ("4",), ("5", "6")]
    assert [one.combined is not None for one in side.designs] == [True, False, False, True]
    assert [str(question_of(one)) for one in side.designs] == [
        "Can the two be told apart?",
        "Are the two close enough?",
        "Can the two be told apart? By smell alone",
        "Which one is more bitter?",
    ]
    assert "They used different tests." in words(laid)
    alone = say_together(side.designs[1])
    assert [str(one) for part in alone for one in part] == [
        "One finding alone: there is nothing to combine it with."
    ]


def test_what_has_no_place_on_the_axis_says_why() -> None:
    told = two_tables(told=2)
    alone = evening(
        comparison(Plan(method="triangle"), sitting("grey", kind=SittingKind.REPEAT)),
        right_and_wrong("grey", 5, 8, taster="one"),
    )
    prefers = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2)
    laid = side_by_side(
        [
            found(told),
            found(alone),
            found(evening(comparison(prefers), right_and_wrong("blue", 9, 12))),
            table(7, 12, "a-not-a"),
            found(evening(comparison(Plan(method="triangle")), ())),
        ]
    )
    assert [(entry.mark, reason) for entry, reason in laid.others] == [
        ("1", Apart.TOLD),
        ("2", Apart.REPEAT),
        ("3", Apart.SIDES),
        ("4", Apart.OTHER_SCALE),
        ("5", Apart.NOBODY),
    ]
    assert {str(say_apart(reason)) for reason in Apart} == {
        str(say_apart(reason)) for _, reason in laid.others
    }
    assert len({str(say_apart(reason)) for reason in Apart}) == len(Apart)


def test_sittings_kept_apart_have_letters() -> None:
    plan = Plan(method="triangle", join_sittings=False)
    event = evening(
        comparison(plan, sitting("blue"), sitting("green")),
        right_and_wrong("blue", 5, 10) + right_and_wrong("green", 6, 10),
    )
    (side,) = side_by_side([table(15, 36), found(event)]).sides
    assert [entry.mark for entry in side.designs[0].entries] == ["1", "2a", "2b"]


@pytest.mark.parametrize(("right", "tasters"), [(0, 24), (2, 24), (24, 24)])
def test_nothing_is_left_out_for_what_came_of_it(right: int, tasters: int) -> None:
    laid = side_by_side([table(8, 24), table(right, tasters)])
    assert len(laid.sides[0].designs[0].entries) == 2
    assert laid.others == ()


def test_the_words_for_two_panels_near_and_two_far_apart() -> None:
    """33 of 72 in a triangle test: 18.75 % tell apart, exactly 1.0 to 37.0 % (scipy.stats.beta);
    Q 0.50 and 16.07 (statsmodels, reference/combined.csv), chi-square tails 0.48 and 0.00006."""
    near = words(side_by_side([table(15, 36), table(18, 36)]))
    assert near == (
        "At a best guess from these 2 panels together, 19 in 100 of such tasters truly tell the "
        "two apart and the others guess; the votes fit anything from 1 to 37 in 100 of such "
        "tasters. Few panels together still say little. How little, the range says. The panels "
        "lie no farther apart than chance may put them: if all had the same share, about 48 of "
        "100 such sets of panels would lie as far apart. With so few that does not show that they "
        "have the same."
    )
    far = words(side_by_side([table(10, 36), table(27, 36)]))
    assert "The panels lie farther apart than chance usually puts them" in far
    assert "fewer than 1 of 1000" in far
    assert "look at each" in far


def test_at_guessing_and_below_it() -> None:
    assert "no more were right than guessing gives" in words(
        side_by_side([table(8, 24), table(7, 24)])
    )
    below = words(side_by_side([table(1, 24), table(2, 24)]))
    assert "fewer were right than guessing usually gives" in below
    assert "mixed up" in below
    assert "best guess" not in below


@pytest.mark.parametrize("method", ["triangle", "duo-trio", "two-out-of-five"])
def test_no_sentence_claims_too_much(method: str) -> None:
    """Every pair of counts of two panels of seven; no verdict is counted, nothing proved."""
    counts = [table(right, 7, method) for right in range(8)]
    for first in counts:
        for second in counts[::3]:
            laid = side_by_side([first, second])
            text = words(laid)
            assert not BANNED.search(text), text
            assert not STATISTICIANS.search(text), text
            assert "Few panels together" in text or "mixed up" in text
            combined = laid.sides[0].designs[0].combined
            assert combined is not None
            rows = " ".join(f"{row.label} {row.value}" for row in combined_rows(combined))
            assert "nan" not in rows
            assert "None" not in rows


def test_the_notes_say_what_is_not_there() -> None:
    notes = " ".join(map(str, NOTES))
    for words_of_it in (
        "perhaps not all that were made",
        "not the same change",
        "Nobody counts here how many panels showed a difference",
        "Members who tasted in more than one panel",
    ):
        assert words_of_it in notes
    assert not BANNED.search(notes.replace("showed a difference", ""))


def test_the_order_of_comparisons_is_kept_and_their_numbers_follow_it() -> None:
    named = [replace(table(5, 12)[0], title=name) for name in ("new", "older", "oldest")]
    findings = table(5, 12)[1]
    (side,) = side_by_side([(one, findings) for one in named]).sides
    assert [(entry.mark, entry.comparison.title) for entry in side.designs[0].entries] == [
        ("1", "new"),
        ("2", "older"),
        ("3", "oldest"),
    ]
