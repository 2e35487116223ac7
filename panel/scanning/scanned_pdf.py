"""Pages of a PDF: the JPEG of a scanned page is taken out as it is, everything else is drawn.

Taking the picture out is five times as fast as drawing the page, and loses nothing.
"""

import ctypes
from collections.abc import Callable, Iterator
from io import BytesIO

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
from PIL import Image

from panel.core.errors import PanelError
from panel.core.message import say
from panel.scanning.projective import Picture

DRAWN_AT = 200
"""Dots per inch at which pages are drawn."""

COVERED = 0.97
"""Share of the page, each way, that a picture must cover to be the page."""

MOST_THINGS = 50_000
"""Strokes, texts and pictures that one page may draw; a sheet of cards has some hundreds."""
DEEPEST = 15
"""Drawings within drawings that are looked into."""

CheckPages = Callable[[int], None]
CheckPixels = Callable[[float, float, int], None]


def pdf_pages(
    data: bytes, check_pages: CheckPages, check_pixels: CheckPixels, first: int, step: int
) -> Iterator[tuple[int, int, Picture]]:
    """Number, count of pages and grey picture of the first page and each `step`th from there.

    check_pages, check_pixels: refuse too many of either before anything is decoded. Raises
    PanelError "pdf-locked", "picture-broken" and "page-too-full" besides what they raise.
    """
    document = _opened(data)
    try:
        count = len(document)
        check_pages(count)
        for number in range(first, count + 1, step):
            yield number, count, _page(document, number, check_pixels)
    finally:
        document.close()


def _opened(data: bytes) -> pdfium.PdfDocument:
    try:
        return pdfium.PdfDocument(data)
    except pdfium.PdfiumError as refusal:
        if raw.FPDF_GetLastError() == raw.FPDF_ERR_PASSWORD:
            raise PanelError(
                "pdf-locked",
                say("This PDF is locked with a password. Save it without one and send it again."),
                field="file",
            ) from refusal
        raise _broken() from refusal


def _broken() -> PanelError:
    return PanelError(
        "picture-broken",
        say("This PDF is damaged and cannot be read. Scan the cards again, or send photographs."),
        field="file",
    )


def _page(document: pdfium.PdfDocument, number: int, check_pixels: CheckPixels) -> Picture:
    try:
        page = document[number - 1]
    except pdfium.PdfiumError as refusal:
        raise _broken() from refusal
    try:
        scanned = _scanned(page, number, check_pixels)
        return _drawn(page, number, check_pixels) if scanned is None else scanned
    except pdfium.PdfiumError as refusal:
        raise _broken() from refusal
    finally:
        page.close()


def _scanned(page: pdfium.PdfPage, number: int, check_pixels: CheckPixels) -> Picture | None:
    """The page's one JPEG, if that is the whole page; None if the page has to be drawn."""
    if raw.FPDFPage_CountObjects(page) != 1:
        return None
    (thing,) = page.get_objects(max_depth=1)
    if thing.type != raw.FPDF_PAGEOBJ_IMAGE or not _covers(thing, page):
        return None
    if _filters(thing) != ["DCTDecode"]:
        return None
    data = bytes(_bytes_of(thing))
    try:
        with Image.open(BytesIO(data), formats=["JPEG"]) as image:
            check_pixels(*image.size, number)
            if image.mode not in ("L", "RGB"):
                return None
            grey = np.array(image.convert("L"))
    except Image.DecompressionBombError as bomb:
        _check_image(thing, number, check_pixels)
        raise _broken() from bomb  # the page says less than its picture
    except OSError:
        return None
    turned: Picture = np.ascontiguousarray(np.rot90(grey, -(page.get_rotation() // 90)))
    return turned


def _covers(thing: pdfium.PdfObject, page: pdfium.PdfPage) -> bool:
    """Whether a picture stands upright over the whole page."""
    a, b, c, d, x, y = thing.get_matrix().get()
    left, bottom, right, top = page.get_cropbox()
    width, height = right - left, top - bottom
    upright = abs(b) + abs(c) < 1e-3 * (abs(a) + abs(d)) and a > 0 and d > 0
    return bool(
        upright
        and COVERED * width <= a <= width / COVERED
        and COVERED * height <= d <= height / COVERED
        and abs(x - left) <= (1 - COVERED) * width
        and abs(y - bottom) <= (1 - COVERED) * height
    )


def _filters(thing: pdfium.PdfObject) -> list[str]:
    names = []
    for index in range(raw.FPDFImageObj_GetImageFilterCount(thing)):
        length = raw.FPDFImageObj_GetImageFilter(thing, index, None, 0)
        held = ctypes.create_string_buffer(length)
        raw.FPDFImageObj_GetImageFilter(thing, index, held, length)
        names.append(held.value.decode("ascii", "replace"))
    return names


def _bytes_of(thing: pdfium.PdfObject) -> ctypes.Array[ctypes.c_char]:
    length = raw.FPDFImageObj_GetImageDataRaw(thing, None, 0)
    held = ctypes.create_string_buffer(length)
    raw.FPDFImageObj_GetImageDataRaw(thing, held, length)
    return held


def _drawn(page: pdfium.PdfPage, number: int, check_pixels: CheckPixels) -> Picture:
    scale = DRAWN_AT / 72
    width, height = page.get_size()
    check_pixels(width * scale, height * scale, number)
    _check_things(page, number, check_pixels)
    bitmap = page.render(scale=scale, grayscale=True)
    try:
        drawn = np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width)
    finally:
        bitmap.close()
    return drawn


def _check_things(page: pdfium.PdfPage, number: int, check_pixels: CheckPixels) -> None:
    """PanelError for a page that is too much to draw: the renderer would leave white what it gives
    up, and a white page is no card."""
    for count, thing in enumerate(page.get_objects(max_depth=DEEPEST), start=1):
        if count > MOST_THINGS:
            raise PanelError(
                "page-too-full",
                say(
                    "Page %(number)s draws more than %(most)s things, which is the most that is "
                    "taken. Scan the cards as pictures, or take photographs.",
                    number=number,
                    most=MOST_THINGS,
                ),
                field="file",
            )
        if thing.type == raw.FPDF_PAGEOBJ_IMAGE:
            _check_image(thing, number, check_pixels)


def _check_image(thing: pdfium.PdfObject, number: int, check_pixels: CheckPixels) -> None:
    """PanelError for a picture of too many pixels, by what the page says of it."""
    width, height = ctypes.c_uint(), ctypes.c_uint()
    if raw.FPDFImageObj_GetImagePixelSize(thing, width, height):
        check_pixels(width.value, height.value, number)
