"""The kit as one file: its cover, its order, whose pages are where, and that it tells nothing."""

from dataclasses import replace

import pytest

from panel.core.names import Information, Paper, SittingKind
from panel.core.paper.hands import GOES_TO, NAMED, Hand
from panel.core.paper.stock import LABELS
from panel.printing.kit import PIECES, sheet
from panel.printing.whole_kit import deal, usual_sheets, whole_kit
from tests.printing.papers import SECRET_WORDS, a_job, metadata_of, pages_of, swapped, texts_of

TOLD = "One was fermented cooler."


def test_every_sheet_has_one_hand_and_every_hand_a_name():
    assert set(GOES_TO) == set(PIECES)
    assert set(NAMED) == set(Hand) == set(GOES_TO.values())


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("kind", SittingKind)
def test_the_pages_are_where_the_cover_says(kind, paper):
    job = a_job(kind=kind, paper=paper, planned=8)
    pile = deal(usual_sheets(job))
    made = texts_of(whole_kit(job))
    assert len(made) == pile[-1].last
    for one in pile:
        alone = texts_of(sheet(one.content.name, job))
        assert made[one.first - 1 : one.last] == alone, one.content.name
        where = f"page {one.first}" if one.first == one.last else f"pages {one.first}–{one.last}"
        assert where in made[0]
        assert str(one.content.title) in made[0]
        assert str(NAMED[one.hand]) in made[0]
    assert f"{len(made) - 1} pages follow" in made[0]


@pytest.mark.parametrize("information", Information)
def test_what_shows_the_key_lies_last(information):
    job = a_job(information=information, told=TOLD)
    shown = [one.content.shows_key for one in deal(usual_sheets(job))]
    assert shown == sorted(shown)
    first = next(one.first for one in deal(usual_sheets(job)) if one.content.shows_key)
    assert f"From page {first} on, nobody reads who does not get it" in texts_of(whole_kit(job))[0]


def test_without_the_key_its_sheets_are_left_out_and_named():
    job = replace(a_job(), key=None)
    made = texts_of(whole_kit(job))
    for name in ("pour-mats", "pour-sheet", "sealed-key"):
        assert f"{PIECES[name].title}: printed by whoever may see it" in made[0]
    assert "nobody reads" not in made[0]
    assert not [page for page in made if "for the pourer alone: keep" in page]


def test_bought_label_sheets_are_printed_apart():
    bought = next(one for one in LABELS.values() if not one.plain and one.paper is Paper.A4)
    made = texts_of(whole_kit(replace(a_job(), labels=bought)))
    assert "Cup labels: printed apart" in made[0]
    assert pages_of(whole_kit(a_job())) > len(made)


@pytest.mark.parametrize("kind", SittingKind)
def test_the_cover_tells_nothing(kind):
    """Neither a drink nor a code nor who is told; the same whatever the cups hold."""
    job = a_job(kind=kind, planned=8, information=Information.SPLIT, told=TOLD)
    cover = texts_of(whole_kit(job))[0]
    for word in SECRET_WORDS:
        if not word.isdigit():
            assert word.casefold() not in cover.casefold()
    assert TOLD not in cover
    assert not {code for tray in job.order.trays for code in tray.codes()} & set(cover.split())
    other = replace(job, order=swapped(job.order), informed=frozenset({1, 2}))
    assert texts_of(whole_kit(other))[0] == cover


@pytest.mark.parametrize("kind", SittingKind)
def test_without_the_key_the_pile_is_the_same_to_the_byte_when_the_drinks_change_places(kind):
    job = replace(a_job(kind=kind, planned=6), key=None)
    assert whole_kit(job) == whole_kit(replace(job, order=swapped(job.order)))


def test_the_file_says_of_itself_no_more_than_a_sheet_does():
    known = metadata_of(whole_kit(a_job()))
    assert known.pop("Title") == "The kit"
    assert "saison" not in " ".join(known.values()).casefold()
    assert whole_kit(a_job()) == whole_kit(a_job())


def test_progress_is_told_over_the_whole_pile():
    told = []
    pdf = whole_kit(a_job(planned=6), lambda done, total: told.append((done, total)))
    pages = pages_of(pdf)
    assert told == [(number, pages) for number in range(1, pages + 1)]
