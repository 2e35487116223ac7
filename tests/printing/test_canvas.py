"""The PDF writer: neutral metadata, same bytes, true places, refusals by name."""

from io import BytesIO

import pypdf
import pytest

from panel.core.drawing import (
    Anchor,
    Circle,
    Drawing,
    Face,
    Group,
    Ink,
    Line,
    Matrix,
    Path,
    Rect,
    Shape,
    Text,
)
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.paper.geometry import Box
from panel.printing.canvas import GREYS, write_pdf
from panel.printing.fonts import FONT_FILES, glyphs, printable, text_width
from panel.printing.foot import Foot, foot_shapes, inside
from tests.printing.looking import extent_of_ink, middle_of_ink, pictures, texts

FOOT = Foot(sitting="Guild night", sheet="Pour mats", audience="for pourers: keep out of sight")


def pdf_of(*shapes: Shape, **more: object) -> bytes:
    page = Drawing(width=100, height=80, shapes=shapes)
    return write_pdf([page], title="A sheet", speak=str, **more)  # type: ignore[arg-type]


def reader_of(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(pdf))


def streams(pdf: bytes) -> str:
    """The drawing operators of the first page and of what it repeats."""
    page = reader_of(pdf).pages[0]
    forms = page["/Resources"].get("/XObject", {})
    parts = [page.get_contents().get_data()]
    parts += [form.get_object().get_data() for form in forms.values()]
    return b"\n".join(parts).decode("latin-1")


# --- the file -----------------------------------------------------------------------------------


def test_the_metadata_says_the_title_and_nothing_else():
    reader = reader_of(pdf_of(Text(x=10, y=10, text="x", size=10), language="de"))
    info = {key: str(value) for key, value in reader.metadata.items()}
    assert info.pop("/Title") == "A sheet"
    assert info.pop("/Producer").startswith("ReportLab")
    assert {key: value for key, value in info.items() if "Date" not in key} == {
        "/Author": "",
        "/Creator": "",
        "/Keywords": "",
        "/Subject": "",
        "/Trapped": "/False",
    }
    # reportlab's invariant mode: one fixed moment for all files
    assert {value[:14] for key, value in info.items() if "Date" in key} == {"D:200001010000"[:14]}
    assert reader.xmp_metadata is None
    assert reader.root_object["/Lang"] == "de"


def test_the_print_window_is_asked_not_to_scale():
    preferences = reader_of(pdf_of()).root_object["/ViewerPreferences"]
    assert preferences["/PrintScaling"] == "/None"


def test_the_same_drawings_give_the_same_bytes():
    shapes = (Text(x=10, y=10, text="Łódź Ωμέγα", size=10), Circle(x=20, y=20, radius=5))
    assert pdf_of(*shapes) == pdf_of(*shapes)


def test_all_fonts_are_embedded():
    pdf = pdf_of(*(Text(x=10, y=10, text="Abc", size=9, face=face) for face in Face))
    fonts = reader_of(pdf).pages[0]["/Resources"]["/Font"]
    embedded = [font for font in fonts.values() if "/FontDescriptor" in font.get_object()]
    assert len(embedded) == len(Face)
    others = {name for name, font in fonts.items() if "/FontDescriptor" not in font.get_object()}
    assert not any(f"{name} " in streams(pdf) for name in others)


def test_only_greys_unless_colour_is_asked_for():
    shapes = tuple(Rect(x=5, y=5, width=9, height=9, fill=ink, stroke=ink) for ink in Ink)
    plain, coloured = streams(pdf_of(*shapes)), streams(pdf_of(*shapes, colour=True))
    assert " rg" not in plain
    assert " RG" not in plain
    assert " rg" in coloured


def test_every_ink_has_its_grey_and_wax_is_not_lost_on_a_grey_printer():
    assert set(GREYS) == set(Ink)
    assert GREYS[Ink.WAX] < 0.5 > GREYS[Ink.BLUE]


def test_repeated_art_is_stored_once():
    ring = tuple(Circle(x=0.01 * r * r, y=0, radius=r / 10) for r in range(1, 90))
    placed = [Group(shapes=ring, x=20 + n, y=20, repeated=True) for n in range(30)]
    plain = [Group(shapes=ring, x=20 + n, y=20) for n in range(30)]
    once, each = pdf_of(*placed), pdf_of(*plain)
    assert 30 * streams(once).count(" c\n") == streams(each).count(" c\n")
    assert (pictures(once, 100)[0] == pictures(each, 100)[0]).all()


def test_repeated_art_is_found_on_later_pages_too():
    ring = (Circle(x=0, y=0, radius=5, stroke=None, fill=Ink.INK),)
    page = Drawing(width=100, height=80, shapes=(Group(shapes=ring, x=50, y=40, repeated=True),))
    pdf = write_pdf([page, page, page], title="t", speak=str)
    assert all(picture[157, 197] == 0 for picture in pictures(pdf, 100))


# --- places -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "shape",
    [
        Circle(x=30, y=20, radius=3, stroke=None, fill=Ink.INK),
        Rect(x=27, y=18, width=6, height=4, fill=Ink.INK),
        Line(x1=27, y1=20, x2=33, y2=20, ink=Ink.INK, width=1),
        Path(steps=((27, 18), (33, 18), (33, 22), (27, 22)), closed=True, fill=Ink.INK),
        Path(steps=((27, 20), (28, 16, 32, 16, 33, 20), (32, 24, 28, 24, 27, 20)), fill=Ink.INK),
        Matrix(x=27, y=17, size=6, side=2, runs=((0, 0, 2), (0, 1, 2))),
        Group(shapes=(Circle(x=5, y=0, radius=2, fill=Ink.INK),), x=20, y=20, scale=2.0),
    ],
    ids=lambda shape: type(shape).__name__,
)
def test_shapes_are_where_they_should_be(shape):
    (picture,) = pictures(pdf_of(shape), 300)
    assert middle_of_ink(picture, 300, 30, 20, 6) == pytest.approx((30, 20), abs=0.05)


@pytest.mark.parametrize("tracking", [0.0, 6.0])
@pytest.mark.parametrize("anchor", Anchor)
def test_text_hangs_on_its_anchor(anchor, tracking):
    # An H has the same bearing at both sides: about 0.09 of the size in this face.
    text = Text(x=50, y=40, text="HHH", size=24, face=Face.BOLD, anchor=anchor, tracking=tracking)
    (picture,) = pictures(pdf_of(text), 300)
    left, _, right, bottom = extent_of_ink(picture, 300, (0, 0, 100, 80))
    hangs = {Anchor.START: left, Anchor.MIDDLE: (left + right) / 2, Anchor.END: right}[anchor]
    assert hangs == pytest.approx(50, abs=1.0 if anchor is not Anchor.MIDDLE else 0.1)
    assert bottom == pytest.approx(40, abs=0.1)


def test_widths_are_those_of_the_font_files():
    # 0.497 em: the digits of Source Sans Pro Regular, from its hmtx table.
    assert text_width("0000", Face.TEXT, 100) == pytest.approx(4 * 0.497 * 100 * 25.4 / 72)
    assert len({text_width(digit, Face.BOLD, 10) for digit in "0123456789"}) == 1


# --- the foot -----------------------------------------------------------------------------------


def test_the_foot_names_sitting_sheet_page_and_audience():
    pages = [Drawing(width=210, height=297, shapes=()) for _ in range(3)]
    said = texts(write_pdf(pages, title="t", speak=str, foot=FOOT))
    left, _, right = said[1].strip().partition(" for pourers")
    assert left == "Guild night · Pour mats · page 2 of 3"
    assert right == ": keep out of sight"


def test_the_foot_keeps_the_margin_and_leaves_the_inside_free():
    page = Box(0, 0, 210, 297)
    pdf = write_pdf([Drawing(width=210, height=297, shapes=())], title="t", speak=str, foot=FOOT)
    left, top, right, bottom = extent_of_ink(pictures(pdf, 150)[0], 150, (0, 0, 210, 297))
    assert left >= 11.9
    assert right <= 198.2
    assert bottom <= 297 - 10.9  # only the tails of letters reach below the base line
    assert top > inside(page).bottom


def test_a_sitting_too_long_for_the_foot_is_named():
    long = Foot(sitting="Spring evening of the harbour guild " * 4, sheet="S", audience="a")
    with pytest.raises(PanelError, match="the sitting's name, in the foot"):
        foot_shapes(long, Box(0, 0, 210, 297), "page 1 of 1")


# --- refusals -----------------------------------------------------------------------------------


def test_a_text_wider_than_its_room_is_refused_by_name():
    text = Text(x=10, y=10, text="Guild night", size=20, room=20, what=say("the sitting's name"))
    with pytest.raises(PanelError) as refusal:
        pdf_of(text)
    assert refusal.value.code == "text-does-not-fit"
    assert "the sitting's name: “Guild night”" in str(refusal.value)


@pytest.mark.parametrize("x", [-1.0, 95.0])
def test_a_text_that_runs_off_the_page_is_refused(x):
    with pytest.raises(PanelError, match="not enough room"):
        pdf_of(Group(shapes=(Text(x=x - 3, y=10, text="Guild night", size=10),), x=3))


@pytest.mark.parametrize("face", Face)
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Pivo 🍺", "beer mug"),
        ("ビール", "katakana letter bi"),
        ("בירה", "hebrew letter bet"),
        ("Be\u200ber", "zero width space"),
        ("Be\x07er", "u+0007"),
        ("q\u0303uick", "combining tilde"),
    ],
)
def test_what_a_face_cannot_print_is_refused_with_its_name(face, name, said):
    with pytest.raises(PanelError) as refusal:
        pdf_of(Text(x=10, y=10, text=name, size=10, face=face, what=say("the beer's name")))
    assert refusal.value.code == "unprintable-name"
    assert said in str(refusal.value).lower()
    assert "the beer's name" in str(refusal.value)


def test_letters_and_accents_apart_are_joined():
    assert printable("Bu\u0308gel", Face.TITLE) == "B\u00fcgel"


# Every letter of these alphabets, as Unicode's charts list them: Latin-1 and Latin Extended-A
# (without two that no living spelling uses), modern Greek, and the Cyrillic of Russian, Ukrainian,
# Belarusian, Bulgarian, Serbian and Macedonian.
LATIN = [chr(code) for code in range(0xC0, 0x180)]
ALPHABETS = (
    "".join(letter for letter in LATIN if letter.isalpha() and letter not in "ŉſ"),
    "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρσςτυφχψωΆΈΉΊΌΎΏάέήίόύώϊϋΐΰ",
    "АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдежзийклмнопрстуфхцчшщъыьэюя",
    "ЁёЄєІіЇїҐґЎўЂђЈјЉљЊњЋћЏџЃѓЅѕЌќ",
    "“”„‘’–—·…×°%№€£½",
)


@pytest.mark.parametrize("face", Face)
@pytest.mark.parametrize("alphabet", ALPHABETS)
def test_every_face_has_latin_greek_and_cyrillic(face, alphabet):
    for letter in alphabet:
        assert printable(letter, face) == letter


def test_a_title_the_serif_cannot_show_is_set_in_the_bold_sans():
    title = "Ŋuolfi ᾠδή"
    assert ord("Ŋ") not in glyphs(Face.TITLE)
    assert text_width(title, Face.TITLE, 20) == text_width(title, Face.BOLD, 20)
    assert title in texts(pdf_of(Text(x=10, y=20, text=title, size=20, face=Face.TITLE)))[0]


def test_greek_and_cyrillic_come_out_as_they_went_in():
    words = ("Ζύθος Ωμέγα", "Пиво Ёлка", "Żółć Łódź", "Ærø & Åse")
    pdf = pdf_of(*(Text(x=10, y=10 + 8 * n, text=word, size=10) for n, word in enumerate(words)))
    (said,) = texts(pdf)
    assert all(word in said for word in words)


def test_the_font_files_are_there_for_the_pages_too():
    assert all(path.read_bytes()[:4] == b"\x00\x01\x00\x00" for path in FONT_FILES.values())
