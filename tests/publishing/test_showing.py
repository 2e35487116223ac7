"""The screens for a room: they say what the page says, in an order that lets people look."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

import pytest

from panel.core.drawing import Circle, Group, Shape
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.wording import say_difference, say_finding
from panel.publishing.showing import BEATS, Doors, Screen, cups, screens
from tests.publishing.opened import opened, result
from tests.results import Evening, comparison, evening, right_and_wrong, sitting, two_tables

HERE = Doors("http://10.0.0.5:8000/r/abcdefghijklmnop", "https://guild.example/abcdefghijklmnop/")


def shown(event: Evening, made_again: str = "", doors: Doors = HERE) -> tuple[Screen, ...]:
    known, seal = opened(event)
    return screens(result(known), known.comparison, made_again or seal.digest(), doors)


def words(screen: Screen) -> str:
    captions = [line for one in screen.shown for line in one.words]
    beside = [] if screen.beside is None else [screen.beside]
    said = (screen.over, *screen.said, *screen.then, *screen.points, *captions, *beside)
    return " ".join([*map(str, said), screen.digits])


def circles(shapes: Iterable[Shape]) -> Iterator[Circle]:
    for shape in shapes:
        if isinstance(shape, Group):
            yield from circles(shape.shapes)
        elif isinstance(shape, Circle):
            yield shape


def test_they_come_in_the_order_in_which_a_room_can_judge():
    names = [one.name for one in shown(two_tables(told=2))]
    assert names == [
        "seal", "envelope", "question", "guess", "count", "guessing", "told", "knowing", "meaning",
        "stub",
    ]  # fmt: skip
    alone = evening(comparison(None), right_and_wrong("blue", 6, 12))
    assert [one.name for one in shown(alone)][5:] == ["guessing", "meaning", "stub"]


def test_nothing_before_the_count_says_the_count():
    known, _ = opened(two_tables(told=2))
    before = [words(one) for one in shown(two_tables(told=2))[:4]]
    main = result(known).main
    assert main is not None
    counted = str(say_finding(main, known.comparison).lead[0])
    assert all(counted not in text for text in before)
    assert "36 choices were counted. How many were right?" in before[3]


def test_they_say_what_the_page_says():
    event = two_tables(told=2)
    known, _ = opened(event)
    found = result(known)
    text = " ".join(words(one) for one in shown(event))
    assert found.main is not None
    said = say_finding(found.main, known.comparison)
    for sentence in (*said.lead, *said.then):
        assert str(sentence) in text
    for one in found.differences:
        for sentence in say_difference(one, found.main, known.comparison):
            assert str(sentence) in text
    for caution in found.cautions:
        assert str(caution.title) in text
    for finding in found.findings:
        assert str(say_finding(finding, known.comparison).lead[0]) in text
    for beer in known.comparison.beers:
        assert beer.name in text
    assert "10.0.0.5:8000/r/abcdefghijklmnop" in text
    assert "For good: guild.example/abcdefghijklmnop" in text


def test_the_envelope_shows_both_seals_and_says_if_they_differ():
    known, seal = opened(two_tables())
    assert known.comparison.seal is not None
    _, holds, *_ = shown(two_tables())
    assert "it is the same" in words(holds)
    assert words(holds).replace(" ", "").count(known.comparison.seal.digest) == 2
    assert holds.shown[0].drawing == holds.shown[1].drawing
    _, broken, *_ = shown(two_tables(), made_again="0" * 64)
    assert "it is another one" in words(broken)
    assert "Do not believe this result" in words(broken)
    assert broken.shown[0].drawing != broken.shown[1].drawing
    assert "broken" in broken.kind
    assert seal.digest() == known.comparison.seal.digest


@pytest.mark.parametrize(("many", "filled"), [(1, 1), (7, 0), (24, 24), (36, 15), (190, 81)])
def test_every_choice_is_a_cup_and_every_right_one_full(many: int, filled: int):
    drawing = cups(many, filled, "salt")
    every = list(circles(drawing.shapes))
    assert Counter(one.fill is not None for one in every) == Counter(
        {True: filled, False: many - filled}
    )
    assert len({(one.x, one.y) for one in every}) == many
    assert all(0 < one.x < drawing.width and 0 < one.y < drawing.height for one in every)
    assert len(drawing.shapes) == min(BEATS, many)


def test_which_cup_is_full_tells_nothing_of_a_taster():
    """The same count from other people is the same picture; places follow from the seal alone."""
    first = two_tables(blinded=(15, 36))
    mixed = replace(
        first, ballots=tuple(reversed(first.ballots)), trays=tuple(reversed(first.trays))
    )
    one, other = (
        next(s for s in shown(event) if s.name == "count").shown[0].drawing
        for event in (first, mixed)
    )
    assert one == other
    full = [n for n, one in enumerate(circles(cups(36, 15, "a").shapes)) if one.fill]
    again = [n for n, one in enumerate(circles(cups(36, 15, "b").shapes)) if one.fill]
    assert full != again
    assert full != list(range(15))


@pytest.mark.parametrize(
    "event",
    [
        evening(comparison(Plan(method="triangle", tasters=2)), right_and_wrong("blue", 2, 2)),
        evening(comparison(Plan(method="triangle", aim=Aim.SIMILARITY, tasters=36)),
                right_and_wrong("blue", 8, 36)),
        evening(comparison(Plan(method="paired", attribute="bitter", sides=2, tasters=20)),
                right_and_wrong("blue", 4, 20)),
        evening(comparison(Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2,
                                tasters=20)), right_and_wrong("blue", 12, 20)),
        evening(comparison(None), ()),
    ],
)  # fmt: skip
def test_whatever_came_out_can_be_shown(event: Evening):
    made = shown(event)
    assert made[0].name == "seal"
    assert all(words(one).strip() for one in made)
    found = result(opened(event)[0])
    assert found.main is not None
    if found.main.tasters:
        count = next(one for one in made if one.name == "count")
        full = sum(one.fill is not None for one in circles(count.shown[0].drawing.shapes))
        assert f"{full} of {found.main.tasters}" in words(count)


def test_groups_for_which_there_is_no_room_are_said_to_stand_on_the_page():
    names = "abcdef"
    apart = comparison(
        Plan(method="triangle", tasters=36, join_sittings=False), *map(sitting, names)
    )
    every = [one for name in names for one in right_and_wrong(name, 3, 6)]
    told = next(one for one in shown(evening(apart, every)) if one.name == "told")
    assert len(told.shown) == 4
    assert "2 more groups stand on the page." in words(told)


def test_before_publication_the_last_screen_promises_and_says_no_more():
    known, seal = opened(two_tables())
    unpublished = replace(known.comparison, published=None)
    *_, last = screens(result(known), unpublished, seal.digest(), Doors("http://10.0.0.5/r/a"))
    assert "As soon as it is published" in words(last)
    assert last.beside is None
