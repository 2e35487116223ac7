"""Files as they come from phones and scanners: taken by content, limited, turned upright, bared."""

import struct
from io import BytesIO

import numpy as np
import pypdf
import pytest
from PIL import Image
from pypdf.generic import NameObject, NumberObject

from panel.core.errors import PanelError
from panel.scanning import pages
from panel.scanning.pages import pages_of
from panel.scanning.scanned_pdf import DRAWN_AT

A4_AT_200 = (1654, 2339)


def a_picture(width: int = 300, height: int = 200) -> Image.Image:
    """Grey, with a black upper left corner, so that its turning can be seen."""
    values = np.full((height, width), 220, np.uint8)
    values[: height // 4, : width // 4] = 10
    return Image.fromarray(values)


def saved(image: Image.Image, kind: str, **more: object) -> bytes:
    held = BytesIO()
    image.save(held, kind, **more)
    return held.getvalue()


def dark_corner(picture: np.ndarray) -> tuple[bool, bool, bool, bool]:
    """Which corner is dark: upper left, upper right, lower right, lower left."""
    ends = (picture[5, 5], picture[5, -5], picture[-5, -5], picture[-5, 5])
    return tuple(bool(end < 100) for end in ends)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
@pytest.mark.parametrize("mode", ["L", "RGB"])
def test_pictures_become_grey_pages(kind, mode):
    (page,) = pages_of(saved(a_picture().convert(mode), kind))
    assert (page.number, page.count, page.picture.shape) == (1, 1, (200, 300))
    assert page.picture.dtype == np.uint8
    assert dark_corner(page.picture) == (True, False, False, False)


@pytest.mark.parametrize("mode", ["1", "P", "LA", "RGBA", "CMYK", "I;16"])
def test_other_kinds_of_pixels_are_understood(mode):
    image = a_picture()
    if mode == "I;16":
        image = Image.fromarray(np.asarray(image).astype(np.uint16) * 257)
    else:
        image = image.convert("RGB").convert(mode) if mode == "CMYK" else image.convert(mode)
    (page,) = pages_of(saved(image, "TIFF" if mode in ("CMYK", "I;16") else "PNG"))
    assert dark_corner(page.picture) == (True, False, False, False)
    assert page.picture[-5, -5] > 180


def test_what_is_transparent_is_white():
    image = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    (page,) = pages_of(saved(image, "PNG"))
    assert page.picture.min() == 255


@pytest.mark.parametrize(
    ("orientation", "corner"),
    [(1, 0), (3, 2), (6, 1), (8, 3)],
)
def test_a_photograph_is_turned_upright(orientation, corner):
    """The meaning of the values: the orientation tag of Exif / TIFF 6.0 (1 as it is, 3 half a turn,
    6 a quarter clockwise to show, 8 a quarter back)."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    (page,) = pages_of(saved(a_picture(), "JPEG", exif=exif))
    assert dark_corner(page.picture)[corner]
    assert sum(dark_corner(page.picture)) == 1


def test_every_page_of_a_tiff_is_read():
    images = [a_picture(100 + 10 * number, 100) for number in range(3)]
    data = saved(images[0], "TIFF", save_all=True, append_images=images[1:])
    found = list(pages_of(data))
    assert [(page.number, page.count, page.picture.shape[1]) for page in found] == [
        (1, 3, 100),
        (2, 3, 110),
        (3, 3, 120),
    ]


def a_scan(*images: Image.Image, resolution: float = 200, rotate: int = 0) -> bytes:
    """A PDF of one JPEG a page, as scanners make it."""
    held = BytesIO()
    images[0].save(
        held, "PDF", resolution=resolution, save_all=True, append_images=list(images[1:])
    )
    if not rotate:
        return held.getvalue()
    writer = pypdf.PdfWriter(clone_from=BytesIO(held.getvalue()))
    for page in writer.pages:
        page.rotate(rotate)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


@pytest.mark.parametrize("mode", ["L", "RGB"])
def test_the_picture_of_a_scanned_page_is_taken_out_as_it_is(mode):
    """200 pixels at 300 dpi stay 200: drawn at 200 dpi they would be fewer."""
    first, second = a_picture(600, 300).convert(mode), a_picture(300, 600).convert(mode)
    found = list(pages_of(a_scan(first, second, resolution=300)))
    assert [page.picture.shape for page in found] == [(300, 600), (600, 300)]
    assert all(dark_corner(page.picture)[0] for page in found)


@pytest.mark.parametrize(("rotate", "corner"), [(90, 1), (180, 2), (270, 3)])
def test_a_turned_page_is_turned(rotate, corner):
    (page,) = pages_of(a_scan(a_picture(), rotate=rotate))
    assert dark_corner(page.picture)[corner]
    assert page.picture.shape == ((300, 200) if rotate != 180 else (200, 300))


def test_a_taken_out_page_and_a_drawn_one_show_the_same():
    scan = a_scan(a_picture(400, 300), resolution=DRAWN_AT)
    (taken,) = pages_of(scan)
    writer = pypdf.PdfWriter(clone_from=BytesIO(scan))
    content = writer.pages[0].get_contents()
    content.set_data(content.get_data() + b" 0 0 0 rg 1 1 4 4 re f")
    writer.pages[0].replace_contents(content)
    out = BytesIO()
    writer.write(out)
    (drawn,) = pages_of(out.getvalue())
    assert drawn.picture.shape == taken.picture.shape
    assert np.abs(drawn.picture.astype(int) - taken.picture)[:280].mean() < 4
    assert drawn.picture[-6, 6] < 60 < taken.picture[-6, 6]


def test_a_printed_page_is_drawn_at_200_dpi():
    blank = pypdf.PdfWriter()
    blank.add_blank_page(width=595.28, height=841.89)
    out = BytesIO()
    blank.write(out)
    (page,) = pages_of(out.getvalue())
    height, width = page.picture.shape
    assert (width, height) == pytest.approx(A4_AT_200, abs=2)


def many_pages(count: int) -> bytes:
    blank = pypdf.PdfWriter()
    for _ in range(count):
        blank.add_blank_page(width=10, height=10)
    out = BytesIO()
    blank.write(out)
    return out.getvalue()


def locked() -> bytes:
    blank = pypdf.PdfWriter()
    blank.add_blank_page(width=100, height=100)
    blank.encrypt("secret", algorithm="RC4-128")
    out = BytesIO()
    blank.write(out)
    return out.getvalue()


def huge_page() -> bytes:
    blank = pypdf.PdfWriter()
    blank.add_blank_page(width=14400, height=14400)
    out = BytesIO()
    blank.write(out)
    return out.getvalue()


def huge_png(side: int) -> bytes:
    """A few kilobytes that would unpack to side × side pixels."""
    return saved(Image.new("1", (side, side)), "PNG")


@pytest.mark.parametrize(
    ("data", "code", "words"),
    [
        (b"", "file-empty", "empty"),
        (b"GIF89a" + bytes(50), "not-a-picture", "JPEG or PNG"),
        (b"name,answer\n", "not-a-picture", "JPEG or PNG"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(40), "not-a-picture", "most compatible"),
        (b"\xff\xd8\xff" + bytes(100), "picture-broken", "damaged"),
        (b"%PDF-1.7 and then nothing", "picture-broken", "damaged"),
        (saved(a_picture(), "JPEG")[:900], "picture-broken", "damaged"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(data, code, words):
    with pytest.raises(PanelError, match=words) as refusal:
        list(pages_of(data))
    assert (refusal.value.code, refusal.value.field) == (code, "file")


def swollen_scan(of_page: bool) -> bytes:
    """A scanned page whose JPEG claims 3,600 million pixels; of_page: the page says so too."""
    picture = bytearray(saved(a_picture(), "JPEG"))
    head = picture.index(b"\xff\xc0") + 5
    picture[head : head + 4] = struct.pack(">HH", 60_000, 60_000)
    writer = pypdf.PdfWriter(clone_from=BytesIO(a_scan(a_picture())))
    (thing,) = writer.pages[0]["/Resources"]["/XObject"].values()
    held = thing.get_object()
    held._data = bytes(picture)
    if of_page:
        held.update({NameObject(f"/{side}"): NumberObject(60_000) for side in ("Width", "Height")})
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("make", "code", "words"),
    [
        (lambda: many_pages(pages.MOST_PAGES + 1), "too-many-pages", "61 pages; at most 60"),
        (locked, "pdf-locked", "without one"),
        (huge_page, "page-too-large", "million pixels"),
        (lambda: huge_png(8000), "page-too-large", "64 million pixels"),
        (lambda: huge_png(14000), "page-too-large", "more than 50 million pixels"),
        (lambda: swollen_scan(of_page=True), "page-too-large", "3,?600 million pixels"),
        (lambda: swollen_scan(of_page=False), "picture-broken", "damaged"),
        (lambda: b"\xff\xd8\xff" + bytes(pages.MOST_BYTES), "file-too-large", "at most 20 MB"),
    ],
)
def test_what_is_too_much_is_refused_in_words(make, code, words):
    with pytest.raises(PanelError, match=words) as refusal:
        list(pages_of(make()))
    assert refusal.value.code == code


def test_exactly_the_limit_of_pages_is_taken():
    assert sum(1 for _ in pages_of(many_pages(pages.MOST_PAGES))) == pages.MOST_PAGES


def test_the_name_of_a_kind_is_no_way_in():
    """A PNG that calls itself a JPEG is a PNG; bytes of another kind behind a JPEG's head are not
    handed to another decoder."""
    with pytest.raises(PanelError):
        list(pages_of(b"\xff\xd8\xff" + saved(a_picture(), "PNG")))


def test_a_very_large_photograph_is_halved_but_a_scan_is_not():
    (page,) = pages_of(saved(Image.new("L", (5000, 4000), 200), "JPEG"))
    assert page.picture.shape == (2000, 2500)
    (page,) = pages_of(saved(Image.new("L", (3000, 2000), 200), "JPEG"))
    assert page.picture.shape == (2000, 3000)
