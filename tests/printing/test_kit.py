"""The kit: what is in it, how many pages, and that every sheet of every kind comes out."""

from dataclasses import replace

import pytest

from panel.core.errors import PanelError
from panel.core.methods import METHODS
from panel.core.names import Paper, SittingKind
from panel.printing.kit import (
    PIECES,
    contents,
    file_name,
    page_count_said,
    printed_trays,
    sheet,
    sheets,
)
from tests.core.invented import a_sitting
from tests.printing.papers import a_job, metadata_of, named_comparison, pages_of


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("kind", SittingKind)
def test_page_counts_said_first_are_the_pages_that_come(kind, paper):
    job = a_job(kind=kind, paper=paper)
    made = sheets(job)
    for content in contents(job):
        assert pages_of(made[content.name](None)) == content.pages, content.name


@pytest.mark.parametrize("method", METHODS)
def test_every_method_prints_every_sheet(method):
    for kind in SittingKind:
        job = a_job(method=method, kind=kind, planned=6)
        for name, make in sheets(job).items():
            assert make(None).startswith(b"%PDF"), name


def test_the_small_evening_kit():
    usual = [content.name for content in contents(a_job()) if content.usual]
    assert usual == [
        "pour-mats",
        "pour-sheet",
        "cup-labels",
        "ballot-cards",
        "steward-page",
        "sign-in",
        "sealed-key",
    ]


@pytest.mark.parametrize(
    ("kind", "own", "not_there"),
    [
        (SittingKind.TABLE, "steward-page", "parcel-sheets"),
        (SittingKind.PARCEL, "parcel-sheets", "steward-page"),
        (SittingKind.REPEAT, "repeat-sheet", "sign-in"),
    ],
)
def test_each_kind_of_sitting_has_its_own(kind, own, not_there):
    names = {content.name for content in contents(a_job(kind=kind))}
    assert own in names
    assert not_there not in names
    with pytest.raises(PanelError, match="no sheet"):
        sheet(not_there, a_job(kind=kind))


def test_page_count_in_words():
    listed = contents(a_job(planned=24))
    said = page_count_said([content for content in listed if content.usual])
    assert str(said) == "These are 20 pages in 7 files."


def test_who_may_not_see_the_key_gets_no_sheet_that_shows_it():
    job = replace(a_job(), key=None)
    assert not [content for content in contents(job) if content.shows_key]
    assert {"steward-page", "ballot-cards"} <= {content.name for content in contents(job)}
    for name in ("pour-mats", "pour-sheet", "sealed-key"):
        with pytest.raises(PanelError, match="needs the key"):
            sheet(name, job)


def test_progress_is_told_page_by_page():
    told = []
    sheet("tray-mats", a_job(planned=6), lambda done, total: told.append((done, total)))
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_file_names_say_nothing_of_the_question():
    job = a_job()
    assert {file_name(job, name) for name in PIECES} == {
        f"sitting00001-{name}.pdf" for name in PIECES
    }


def test_files_know_nothing_but_what_kind_of_sheet_they_are():
    job = a_job()
    for content in contents(job):
        known = metadata_of(sheet(content.name, job))
        assert known.pop("Title") == str(content.title)
        assert set(known) <= {"Producer", "CreationDate", "ModDate", "Creator", "Author", "Subject"}
        assert "2000" in known.get("CreationDate", "2000")  # reportlab's fixed date
        assert "saison" not in " ".join(known.values()).casefold()


def test_planned_trays_and_the_first_spares_are_printed():
    trays = a_job(planned=6).order.trays
    assert len(trays) == 8
    assert [tray.spare for tray in trays] == [False] * 6 + [True] * 2
    assert len(printed_trays(trays, a_sitting(kind=SittingKind.PARCEL))) == 6
    assert len(printed_trays(trays, a_sitting(), spares=1)) == 7


def test_cards_need_their_addresses():
    with pytest.raises(PanelError, match="seal the comparison first"):
        sheet("ballot-cards", replace(a_job(), cards=None))


def test_there_is_no_poster_before_the_seal():
    job = a_job()
    order = replace(job.order, comparison=named_comparison(seal=None))
    with pytest.raises(PanelError, match="no seal to show"):
        sheet("poster", replace(job, order=order))
