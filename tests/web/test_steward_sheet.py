"""Ballots from a spreadsheet on the steward's pages, without scripts."""

from io import BytesIO

import pytest
from flask import Flask

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.names import Channel, Role
from panel.services.workplace import Workplace
from panel.store import ballots
from tests.builders import serving, trays
from tests.web.conftest import with_pass
from tests.web.guest import ORIGIN, Guest, Page


@pytest.fixture
def known(at: Workplace) -> Comparison:
    return serving(at)


@pytest.fixture
def steward(app: Flask, at: Workplace, known: Comparison) -> Guest:
    return with_pass(app, at, known, Role.STEWARD)


def path(known: Comparison) -> str:
    return f"/steward/{known.id}/{known.sittings[0].id}/sheet"


def kept(at: Workplace, known: Comparison, place: int):
    with at.units.read() as session:
        return ballots.revisions(session, known.id, trays(at, known)[place].number)


def row(at: Workplace, known: Comparison, place: int, cup: int = 0) -> str:
    tray = trays(at, known)[place]
    return f"{card_number(tray.number)},{tray.codes()[cup]}"


def sent(guest: Guest, known: Comparison, data: bytes) -> Page:
    """A file, as a browser sends it."""
    token = dict(guest.get(path(known)).form("/sheet").fields)["csrf_token"]
    fields = {"csrf_token": token, "sheet": (BytesIO(data), "=cmd.csv")}
    return Page(
        guest.client.post(
            path(known),
            data=fields,
            content_type="multipart/form-data",
            headers={"Origin": ORIGIN},
            follow_redirects=True,
        )
    )


def test_the_empty_sheet_is_filled_in_and_taken(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    page = steward.get(path(known))
    assert f"{path(known)}/empty.csv" in page.links
    answer = steward.client.get(f"{path(known)}/empty.csv")
    assert answer.mimetype == "text/csv"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="ballots.csv"'
    lines = answer.data.decode("utf-8-sig").splitlines()
    assert len(lines) == len(trays(at, known)) + 1
    names = lines[0].split(",")
    for name in names:
        assert f'<b class="nowrap">{name}</b>' in page.html or name == "card"
    codes = trays(at, known)[1].codes()
    cells = {"card": lines[2].split(",")[0], "knew": "nothing", "odd": codes[2]}
    lines[2] = ",".join(cells.get(name, "") for name in names)
    after = sent(steward, known, "\r\n".join(lines).encode("utf-8-sig"))
    assert "1 ballot is in." in after.text
    assert f"{len(lines) - 2} rows hold a card’s number alone" in after.text
    (ballot,) = kept(at, known, 1)
    assert (ballot.channel, ballot.answers["odd"]) == (Channel.IMPORTED, (codes[2],))


def test_one_wrong_row_is_named_nothing_is_taken_and_the_sheet_comes_back(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    rows = f"card,odd\n{row(at, known, 0)}\n{row(at, known, 1).split(',')[0]},000\n"
    page = sent(steward, known, rows.encode())
    assert page.status == 422
    assert "Nothing was taken: one thing is not right yet." in page.text
    assert "Row 3, column odd: Code 000 is not one to choose from" in page.text
    assert page.form("/sheet").values("rows")[0].strip() == rows.strip()
    assert kept(at, known, 0) == ()
    right = rows.replace("000", trays(at, known)[1].codes()[0])
    after = steward.send(page, "/sheet", rows=right)
    assert "2 ballots are in." in after.text
    assert len(kept(at, known, 0)) == len(kept(at, known, 1)) == 1
    again = steward.send(page, "/sheet", rows=right)
    assert "0 ballots are in. 2 were in already." in again.text


def test_of_many_wrong_rows_the_first_are_told(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    rows = "card,odd\n" + "17 Z,111\n" * 40
    page = steward.send(steward.get(path(known)), "/sheet", rows=rows)
    assert "These are the first things that are not right yet." in page.text
    assert page.text.count("column card:") == 20


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("", "There is no ballot in the file"),
        ("card,beer\n1 B,482", "Row 1 has to name the columns: card, knew, odd, sure, words."),
        ("card,odd\n1 B,=HYPERLINK(1)", "Row 2, column odd: Code"),
    ],
)
def test_what_is_no_sheet_is_refused_in_words(
    steward: Guest, known: Comparison, rows: str, words: str
) -> None:
    page = steward.send(steward.get(path(known)), "/sheet", rows=rows)
    assert page.status == 422
    assert words in page.text
    assert page.form("/sheet").values("rows")[0].strip() == rows


def test_a_file_in_another_encoding_says_how_to_save_it(steward: Guest, known: Comparison) -> None:
    assert "Save it as “CSV UTF-8”." in sent(steward, known, b"card,odd\n\xff\xfe").text


def test_a_steward_takes_cards_of_their_own_sitting_alone(
    app: Flask, at: Workplace, known: Comparison, steward: Guest
) -> None:
    other = serving(at)
    assert steward.get(path(other)).status == 403
    assert steward.client.get(f"{path(other)}/empty.csv").status_code == 403
    page = steward.get(path(known))
    token = page.form("/sheet").values("csrf_token")[0]
    fields = {"csrf_token": token, "rows": f"card,odd\n{row(at, other, 0)}"}
    answer = steward.client.post(path(other), data=fields, headers={"Origin": ORIGIN})
    assert answer.status_code == 403
    assert kept(at, other, 0) == ()
    assert Guest(app).client.get(path(known)).status_code == 403


def test_it_is_found_where_cards_are_keyed_in(steward: Guest, known: Comparison) -> None:
    assert path(known) in steward.get(path(known)[:-5] + "key").links
