"""The blinding that a sitting really had: each recorded act that takes from it, and none else."""

from dataclasses import replace
from datetime import timedelta

import pytest

from panel.core.blinding_kept import Kept, blinding_kept, lowest
from panel.core.comparison import Comparison, Tray
from panel.core.duties import Duties
from panel.core.names import Blinding, Role, SittingKind, SittingStanding
from panel.core.outcomes import outcomes_of
from panel.core.sight_of_key import ENVELOPE, SCREEN, SEALED_KEY, TOLD_SLIPS, Seen, Sighted
from panel.core.wording.blinding_kept import NOTHING_AGAINST, say_blinding
from tests.results import NOON, Answered, comparison, evening, sitting

CLOSED = NOON + timedelta(hours=9)
BEFORE, AFTER = CLOSED - timedelta(hours=1), CLOSED + timedelta(minutes=1)


def planned(level: Blinding, *, covered: bool = True, tastes: bool = False) -> Comparison:
    """Two tables, blue and red, closed at nine."""
    known = comparison(None, sitting("blue"), sitting("red"))
    sittings = tuple(
        replace(one, standing=SittingStanding.CLOSED, opened=NOON, closed=CLOSED)
        for one in known.sittings
    )
    names = ("Heron", "Otter") if covered else ("", "Otter")
    beers = tuple(
        replace(beer, cover_name=name) for beer, name in zip(known.beers, names, strict=True)
    )
    return replace(
        known,
        sittings=sittings,
        beers=beers,
        blinding=level,
        duties=Duties(organiser_tastes=tastes),
    )


def person(role: Role, *seen: Seen, trays: int = 0, **given: int) -> Sighted:
    return Sighted(role=role, number=0, seen=seen, trays=trays, handed_out=tuple(given.items()))


def saw(what: str, where: str = "", when: object = BEFORE) -> Seen:
    return Seen(what, when, where)


def blue(known: Comparison, *people: Sighted, used: tuple[Tray, ...] = ()) -> Kept:
    return blinding_kept(known, people, used)[0]


TRIPLE, DOUBLE, SINGLE = Blinding.TRIPLE, Blinding.DOUBLE, Blinding.SINGLE
MATS = saw("pour-mats", "blue")
KEY = saw(SEALED_KEY)

ACTS = [
    # who saw what, then the level of triple, double and single as planned
    ("nobody saw anything", (), (TRIPLE, DOUBLE, SINGLE)),
    ("the pourer looked at the mats", (person(Role.POURER, MATS),), (TRIPLE, DOUBLE, SINGLE)),
    (
        "the pourer looked at a screen",
        (person(Role.POURER, saw(SCREEN, "blue")),),
        (TRIPLE, DOUBLE, SINGLE),
    ),
    (
        "the key holder printed the key",
        (person(Role.KEY_HOLDER, KEY, trays=1),),
        (TRIPLE, DOUBLE, SINGLE),
    ),
    (
        "the organiser printed mats with cover names",
        (person(Role.ORGANISER, MATS),),
        (TRIPLE, DOUBLE, SINGLE),
    ),
    ("the organiser printed the key", (person(Role.ORGANISER, KEY),), (DOUBLE, DOUBLE, SINGLE)),
    (
        "the organiser opened the envelope",
        (person(Role.ORGANISER, saw(ENVELOPE)),),
        (DOUBLE, DOUBLE, SINGLE),
    ),
    (
        "the organiser printed the key once the sitting was over",
        (person(Role.ORGANISER, saw(SEALED_KEY, when=AFTER)),),
        (TRIPLE, DOUBLE, SINGLE),
    ),
    (
        "one tray was opened in an emergency",
        (person(Role.ORGANISER, trays=1),),
        (TRIPLE, DOUBLE, SINGLE),
    ),
    (
        "one tray was opened by who had the mats, which tells the cover names",
        (person(Role.ORGANISER, MATS, trays=1),),
        (DOUBLE, DOUBLE, SINGLE),
    ),
    (
        "told slips were printed",
        (person(Role.ORGANISER, saw(TOLD_SLIPS, "blue")),),
        (TRIPLE, DOUBLE, SINGLE),
    ),
    (
        "the organiser printed the mats and served",
        (person(Role.ORGANISER, MATS, blue=3),),
        (SINGLE, SINGLE, SINGLE),
    ),
    (
        "the organiser printed the key and served at another sitting",
        (person(Role.ORGANISER, KEY, red=3),),
        (DOUBLE, DOUBLE, SINGLE),
    ),
    (
        "a steward is known to have seen it and served",
        (person(Role.STEWARD, MATS, blue=1),),
        (SINGLE, SINGLE, SINGLE),
    ),
    (
        "trays of an unknown sitting were handed out",
        (replace(person(Role.ORGANISER, MATS), handed_out=(("", 2),)),),
        (SINGLE, SINGLE, SINGLE),
    ),
]


@pytest.mark.parametrize(("people", "levels"), [act[1:] for act in ACTS], ids=[a[0] for a in ACTS])
def test_what_the_record_takes_from_the_plan(people, levels):
    assert tuple(blue(planned(level), *people).level for level in (TRIPLE, DOUBLE, SINGLE)) == (
        levels
    )


@pytest.mark.parametrize("people", [act[1] for act in ACTS])
@pytest.mark.parametrize("level", Blinding)
def test_it_is_never_more_than_planned(people, level):
    levels = tuple(Blinding)
    for kept in blinding_kept(planned(level), people, ()):
        assert levels.index(kept.level) <= levels.index(level)
        assert kept.planned is level


def test_each_sitting_has_its_own():
    kept = blinding_kept(planned(DOUBLE), (person(Role.ORGANISER, MATS, blue=2),), ())
    assert [(one.sitting, one.level) for one in kept] == [("blue", SINGLE), ("red", DOUBLE)]
    assert lowest(kept) is SINGLE
    assert lowest(()) is None
    said = say_blinding(kept)
    assert [sitting for sitting, _ in said] == ["blue", "blue", "red"]
    assert str(said[0][1]) == "single at most, and not double."
    assert str(said[1][1]) == (
        "The organiser handed out 2 trays after seeing the key or printing it."
    )
    assert "is not on record" in str(said[2][1])
    both = (person(Role.ORGANISER, MATS, blue=2), person(Role.POURER, saw("pour-mats", "red")))
    assert say_blinding(blinding_kept(planned(DOUBLE), both, ()))[2] == ("red", NOTHING_AGAINST)


def test_without_cover_names_nothing_is_triple():
    for names, level in ((True, TRIPLE), (False, DOUBLE)):
        kept = blue(planned(TRIPLE, covered=names))
        assert (kept.level, kept.uncovered) == (level, not names)
    kept = blinding_kept(planned(TRIPLE, covered=False), (person(Role.ORGANISER, MATS),), ())
    assert [bool(one.named) for one in kept] == [True, False]
    assert "no cover names" in " ".join(str(sentence) for _, sentence in say_blinding(kept))
    assert not blue(planned(DOUBLE, covered=False)).uncovered


@pytest.mark.parametrize(
    ("who", "tasted"),
    [
        (person(Role.ORGANISER, MATS), True),
        (person(Role.ORGANISER, trays=1), True),
        (person(Role.ORGANISER, saw("pour-mats", "red")), False),
        (person(Role.ORGANISER, saw(SEALED_KEY, when=AFTER)), False),
        (person(Role.KEY_HOLDER, KEY, trays=1), False),
        (person(Role.POURER, MATS), False),
    ],
)
def test_an_organiser_who_tastes_and_saw(who, tasted):
    assert bool(blue(planned(DOUBLE, tastes=True), who).tasted) is tasted
    assert not blue(planned(DOUBLE), who).tasted


def test_who_served_is_on_record_only_where_somebody_noted_it():
    known = planned(DOUBLE)
    one = Answered(sitting="blue", out=True)
    event = evening(known, (one, replace(one, out=False), replace(one, out=False)))
    used = outcomes_of(event.comparison, event.key, event.trays, event.ballots).reached
    kept = blue(known, person(Role.POURER, MATS), used=used)
    assert (kept.unnoted, kept.level) == (2, DOUBLE)
    sentences = [str(sentence) for sitting, sentence in say_blinding((kept,))]
    assert sentences == [
        "Of 2 trays nobody noted who handed them out: that they were blind is not on record."
    ]
    assert str(NOTHING_AGAINST) not in sentences
    home = replace(known.sittings[0], kind=SittingKind.PARCEL)
    parcels = replace(known, sittings=(home, *known.sittings[1:]))
    assert blue(parcels, used=used).unnoted == 0


def test_cups_that_nobody_could_have_poured_are_said():
    known = planned(DOUBLE)
    assert blue(known).poured_from_nothing
    assert blue(known, person(Role.POURER, saw("pour-mats", "red"))).poured_from_nothing
    assert not blue(known, person(Role.POURER, MATS)).poured_from_nothing
    assert not blue(known, person(Role.KEY_HOLDER, KEY)).poured_from_nothing
    said = " ".join(str(sentence) for _, sentence in say_blinding((blue(known),)))
    assert "who poured, and who else could see it, is not on record" in said
    assert str(NOTHING_AGAINST) not in said


def test_a_sitting_that_was_not_held_has_none():
    known = planned(DOUBLE)
    off = replace(known.sittings[0], opened=None)
    kept = blinding_kept(replace(known, sittings=(off, *known.sittings[1:])), (), ())
    assert [one.sitting for one in kept] == ["red"]
