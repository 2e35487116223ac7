"""Looking at printed pages: their text, their pictures, their codes, places measured in mm."""

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO

import numpy as np
import pypdf
import pypdfium2
import zxingcpp
from numpy.typing import NDArray

Picture = NDArray[np.uint8]


@contextmanager
def opened(pdf: bytes) -> Iterator[pypdfium2.PdfDocument]:
    """The document, closed afterwards."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        yield document
    finally:
        document.close()


def texts(pdf: bytes) -> list[str]:
    """The text of each page."""
    with opened(pdf) as document:
        found = []
        for page in document:
            words = page.get_textpage()
            found.append(words.get_text_range().replace("\r\n", "\n"))
            words.close()
            page.close()
        return found


def pictures(pdf: bytes, dpi: int) -> list[Picture]:
    """Each page as grey values, 0 is black."""
    with opened(pdf) as document:
        found = []
        for page in document:
            bitmap = page.render(scale=dpi / 72, grayscale=True)
            found.append(np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width).copy())
            bitmap.close()
            page.close()
        return found


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page in millimetres."""
    with opened(pdf) as document:
        pages = [document.get_page_size(number) for number in range(len(document))]
    return [(width / 72 * 25.4, height / 72 * 25.4) for width, height in pages]


def codes(picture: Picture) -> list[str]:
    """What the QR codes of a picture hold."""
    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
    return [one.text for one in found]


def middle_of_ink(
    picture: Picture, dpi: int, x: float, y: float, reach: float
) -> tuple[float, float]:
    """The middle (mm) of what is darker than paper within `reach` mm of a place."""
    scale = dpi / 25.4
    left, top = round((x - reach) * scale), round((y - reach) * scale)
    side = round(2 * reach * scale)
    ink = 255.0 - picture[top : top + side, left : left + side]
    down, across = np.mgrid[0:side, 0:side]
    whole = ink.sum()
    assert whole > 0, f"nothing printed near {x:.1f}, {y:.1f}"
    return (
        (left + float((ink * across).sum() / whole) + 0.5) / scale,
        (top + float((ink * down).sum() / whole) + 0.5) / scale,
    )


def extent_of_ink(
    picture: Picture, dpi: int, box: tuple[float, float, float, float]
) -> tuple[float, float, float, float]:
    """Left, top, right, bottom (mm) of what is printed within a box (x, y, width, height; mm)."""
    scale = dpi / 25.4
    x, y, width, height = (round(value * scale) for value in box)
    dark = picture[y : y + height, x : x + width] < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    return (
        (x + columns[0]) / scale,
        (y + rows[0]) / scale,
        (x + columns[-1] + 1) / scale,
        (y + rows[-1] + 1) / scale,
    )


def starts(pdf: bytes, page: int = 0) -> list[tuple[str, float, float]]:
    """Each piece of text of a page with the place (mm from the top left) where it begins."""
    reader = pypdf.PdfReader(BytesIO(pdf))
    sheet = reader.pages[page]
    height = float(sheet.mediabox.height)
    found: list[tuple[str, float, float]] = []

    def visit(text: str, matrix: list[float], place: list[float], *_: object) -> None:
        if text.strip():
            x = matrix[0] * place[4] + matrix[2] * place[5] + matrix[4]
            y = matrix[1] * place[4] + matrix[3] * place[5] + matrix[5]
            found.append((text.strip(), x / 72 * 25.4, (height - y) / 72 * 25.4))

    sheet.extract_text(visitor_text=visit)
    return found
