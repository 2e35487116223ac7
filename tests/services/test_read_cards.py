"""From printed cards that were filled in to ballots: print, raster, marks, read, the one door."""

import hashlib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw

from panel import scanning
from panel.core.allocation.check_letter import card_number
from panel.core.card_reading import Came
from panel.core.errors import PanelError
from panel.core.methods import method_named
from panel.core.names import CardStanding, Channel, Role
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CARD_FORMATS, CardFormat
from panel.core.paper.card_parts import PlaceKind
from panel.core.paper.payload import ref_of
from panel.core.reconcile import Copy
from panel.core.side_questions import ballot_questions
from panel.services import (
    open_sitting,
    plan_comparison,
    print_kit,
    read_cards,
    seal_comparison,
    settle_ballots,
    take_ballot,
)
from panel.services.print_kit import Paperwork
from panel.services.read_cards import Before
from panel.services.workplace import Actor, Workplace
from panel.store import ballots, readings
from tests.builders import (
    ORGANISER,
    answers,
    draft,
    nose_first,
    serving,
    sitting_draft,
    token,
    trays,
    workplace,
)

DPI = 200
MM = DPI / 25.4


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path / "instance") as place:
        yield place


def sheet_of(at: Workplace, comparison: str, sitting: str, card: str = "") -> Image.Image:
    """The first sheet of ballot cards as a scanner would give it."""
    made = print_kit.sheet(at, ORGANISER, comparison, sitting, "ballot-cards", Paperwork(card=card))
    document = pypdfium2.PdfDocument(made.pdf)
    picture = document[0].render(scale=DPI / 72, grayscale=True).to_pil().convert("L")
    document.close()
    return picture


def filled(picture: Image.Image, known, card: CardFormat, cell: int, marks) -> None:
    """Fills rings of one card on the sheet; marks are (question, value or position)."""
    method = method_named(known.plan.method)
    questions = ballot_questions(method, known.plan)
    layout = card_layout(questions, method.cups, method.references, card)
    box = card.sheet.cell(cell)
    draw = ImageDraw.Draw(picture)
    for place in layout.places:
        wanted = (place.question, place.value or place.position) in marks
        if place.kind is PlaceKind.MARK and wanted:
            x, y = (box.x + place.centre.x) * MM, (box.y + place.centre.y) * MM
            radius = place.radius * 0.85 * MM
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=40)


def png(picture: Image.Image) -> bytes:
    out = BytesIO()
    noise = np.random.default_rng(1).normal(0, 3, np.asarray(picture).shape)
    grey = np.clip(np.asarray(picture, dtype=float) + noise, 0, 255).astype(np.uint8)
    Image.fromarray(grey).save(out, "PNG")
    return out.getvalue()


def numbers_on_first_sheet(count: int, cells: int) -> list[int]:
    """Tray indices of the cells of the first sheet: cut piles come out in order."""
    sheets = -(-count // cells)
    return [index for index in range(0, count, sheets)]


@pytest.mark.parametrize("card", ["a6", "a5-large-print"])
def test_filled_cards_become_ballots_and_doubtful_ones_wait(at: Workplace, card: str) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    form = CARD_FORMATS[card]
    picture = sheet_of(at, known.id, sitting, card)
    cells = form.sheet.count
    printed = [tray for tray in trays(at, known) if not tray.spare]
    printed += [tray for tray in trays(at, known) if tray.spare][:2]
    on_sheet = [printed[index] for index in numbers_on_first_sheet(len(printed), cells)][:cells]
    filled(picture, known, form, 0, {("knew", "nothing"), ("odd", 2), ("sure", "guess")})
    filled(picture, known, form, 1, {("knew", "nothing"), ("odd", 1), ("odd", 3)})
    (page,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    by_card = {one.card: one for one in page.cards}
    assert len(by_card) == cells
    taken = [one for one in page.cards if one.receipt is not None]
    assert len(taken) == 1
    with at.units.read() as session:
        kept = ballots.latest(session, known.id, on_sheet[0].number)
    assert kept is not None
    assert kept.channel is Channel.SCANNED
    assert kept.answers["odd"] == (on_sheet[0].codes()[1],)
    assert kept.answers["knew"] == ("nothing",)
    assert all(one.doubts and one.crop for one in page.cards if one.receipt is None)
    (again,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    assert [one.receipt.copy for one in again.cards if one.receipt] == [Copy.SAME]


@pytest.mark.parametrize(("card", "sure"), [("a5-large-print", True), ("a6", False)])
def test_both_choices_of_a_nose_first_card_are_read(at: Workplace, card: str, sure: bool) -> None:
    known = serving(at, plan=nose_first(ask_sure=sure))
    form = CARD_FORMATS[card]
    picture = sheet_of(at, known.id, known.sittings[0].id, card)
    marks = {("knew", "nothing"), ("nose", 3), ("odd", 1), ("sure", "guess")}
    filled(picture, known, form, 0, marks)
    (page,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    (taken,) = [one for one in page.cards if one.receipt is not None]
    tray = next(one for one in trays(at, known) if card_number(one.number) == taken.card)
    with at.units.read() as session:
        kept = ballots.latest(session, known.id, tray.number)
    assert kept is not None
    assert (kept.answers["nose"], kept.answers["odd"]) == ((tray.codes()[2],), (tray.codes()[0],))


def test_paper_that_differs_from_the_phone_is_a_question(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray, 1), "k")
    form = CARD_FORMATS["a6"]
    picture = sheet_of(at, known.id, known.sittings[0].id)
    filled(picture, known, form, 0, {("knew", "nothing"), ("odd", 3), ("sure", "guess")})
    list(read_cards.read_cards(at, ORGANISER, known.id, png(picture)))
    (question,) = settle_ballots.outstanding(at, ORGANISER, known.id).questions
    assert question.tray.standing is CardStanding.IN_QUESTION
    assert [copy.channel for copy in question.copies] == [Channel.PHONE, Channel.SCANNED]


def test_cards_of_another_comparison_and_of_an_earlier_print_are_refused(at: Workplace) -> None:
    known, other = serving(at), serving(at)
    form = CARD_FORMATS["a6"]
    picture = sheet_of(at, known.id, known.sittings[0].id)
    filled(picture, known, form, 0, {("knew", "nothing"), ("odd", 3), ("sure", "guess")})
    (page,) = read_cards.read_cards(at, ORGANISER, other.id, png(picture))
    assert {str(doubt) for card in page.cards for doubt in card.doubts} == {
        "This card belongs to another comparison. Read it there."
    }
    print_kit.reprint_card(at, ORGANISER, known.id, trays(at, known)[0].number)
    (page,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    assert not any(card.receipt for card in page.cards)
    board = open_sitting.board(at, ORGANISER, known.id, known.sittings[0].id)
    assert board.ballots == 0


def test_an_empty_card_says_so_once_and_names_no_question(at: Workplace) -> None:
    known = serving(at)
    picture = sheet_of(at, known.id, known.sittings[0].id)
    (page,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    for card in page.cards:
        assert [str(doubt) for doubt in card.doubts] == ["Nothing is marked on this card."]
        assert card.before is None


def test_of_a_card_that_is_half_clear_each_doubt_names_its_question(at: Workplace) -> None:
    known = serving(at)
    picture = sheet_of(at, known.id, known.sittings[0].id)
    filled(picture, known, CARD_FORMATS["a6"], 0, {("odd", 2)})
    (page,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    said = [str(doubt) for doubt in page.cards[0].doubts]
    assert said == ["Knew before: Nothing is marked here."]


@pytest.mark.parametrize(
    ("marks", "before"),
    [
        (set(), Before.EMPTY),
        ({("odd", 1)}, Before.AGREES),
        ({("odd", 3)}, Before.DIFFERS),
        ({("knew", "nothing"), ("odd", 1), ("odd", 3)}, Before.OPEN),
        ({("knew", "helped"), ("odd", 1), ("odd", 3)}, Before.DIFFERS),
    ],
)
def test_an_unclear_card_is_held_beside_the_ballot_that_is_in(
    at: Workplace, marks: set[tuple[str, object]], before: Before
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray, 1), "k")
    picture = sheet_of(at, known.id, known.sittings[0].id)
    filled(picture, known, CARD_FORMATS["a6"], 0, marks)
    (page,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    assert page.cards[0].receipt is None
    assert page.cards[0].before is before
    assert {card.before for card in page.cards[1:]} == {None}


def test_a_stewards_picture_of_another_sittings_card_names_that_sitting(at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft("Second evening"))
    known = seal_comparison.seal(at, ORGANISER, known.id)
    first, second = (one.id for one in known.sittings)
    open_sitting.open_sitting(at, ORGANISER, known.id, second)
    picture = sheet_of(at, known.id, second)
    marks = {("knew", "nothing"), ("odd", 2), ("sure", "guess")}
    filled(picture, known, CARD_FORMATS["a6"], 0, marks)
    steward = Actor(Role.STEWARD, "pass00000001", known.id, first)
    (page,) = read_cards.read_cards(at, steward, known.id, png(picture))
    number = card_number(open_sitting.board(at, ORGANISER, known.id, second).trays[0].number)
    assert f"Card {number} belongs to “Second evening”" in str(page.cards[0].doubts[0])
    assert not any(card.receipt for card in page.cards)
    (page,) = read_cards.read_cards(at, ORGANISER, known.id, png(picture))
    assert (page.cards[0].receipt is not None, page.cards[0].sitting) == (True, second)


def test_a_file_that_is_no_picture_is_refused_in_words(at: Workplace) -> None:
    known = serving(at)
    with pytest.raises(PanelError):
        list(read_cards.read_cards(at, ORGANISER, known.id, b"not a picture at all"))


def test_of_a_photograph_nothing_is_kept_but_the_card_itself(at: Workplace) -> None:
    """Where it was taken, with what, when: gone. Kept are hash, page, boxes, measures and the
    reader's version; a reading has no name of a file."""
    known = serving(at)
    picture = sheet_of(at, known.id, known.sittings[0].id)
    filled(picture, known, CARD_FORMATS["a6"], 0, {("odd", 1), ("odd", 3)})
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Tanglewood Optics", "Quillfeather 9"  # maker, model
    exif[0x9286] = "Marrowbone at the bar"  # the owner's comment
    exif.get_ifd(0x8825)[1] = "N"  # a place
    out = BytesIO()
    Image.open(BytesIO(png(picture))).save(out, "JPEG", quality=85, exif=exif, comment=b"Thornbury")
    secret = ("Tanglewood", "Quillfeather", "Marrowbone", "Thornbury")
    assert [one for one in secret if one.encode() not in out.getvalue()] == []
    list(read_cards.read_cards(at, ORGANISER, known.id, out.getvalue()))
    file = Path(str(at.units.engine.url.database))
    held = b"".join(path.read_bytes() for path in file.parent.glob(f"{file.name}*"))
    assert [one for one in (*secret, "Exif") if one.encode() in held] == []
    first = trays(at, known)[0].number
    with at.units.read() as session:
        found = readings.load(
            session, known.id, readings.of_trays(session, known.id, [first])[0].number
        )
    assert found is not None
    assert found.came == Came(
        channel=Channel.SCANNED, file_hash=hashlib.sha256(out.getvalue()).hexdigest(), page=1
    )
    assert found.read.version == scanning.reader_version()
    assert found.read.picture is not None
    assert found.picture_hash == hashlib.sha256(found.read.picture).hexdigest()
    marked = [one for one in found.read.places if one.state == "marked"]
    assert [(one.question, one.position) for one in marked] == [("odd", 1), ("odd", 3)]
    width, height = scanning.size_of_picture(found.read.picture)
    for one in found.read.places:
        left, top, wide, high = one.box
        assert 0 <= left < left + wide <= width
        assert 0 <= top < top + high <= height
        assert one.outline > 0
    assert {one.cover > 0.5 for one in marked} == {True}
