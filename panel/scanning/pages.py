"""Files to pages: photographs and scans as grey pictures, within limits, and nothing but pixels.

The type is told by the content, never by the name. Pixels alone are kept: where a photograph was
taken, with what and when is dropped with the rest of its metadata. Reading a file in a process of
its own, with limits on time and memory, is the caller's part.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image, ImageOps, UnidentifiedImageError

from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.scanning.projective import Picture
from panel.scanning.scanned_pdf import pdf_pages

MOST_BYTES = 20_000_000
MOST_PAGES = 60
MOST_PIXELS = 50_000_000
"""Limits on a file, on its pages, on the pixels of one page."""

ENOUGH_PIXELS = 16_000_000
"""A photograph of more than this is halved while it is decoded: cards need 1,000 pixels across."""


@dataclass(frozen=True, eq=False)
class FilePage:
    """One page of a file: counted from 1, of how many, its grey picture."""

    number: int
    count: int
    picture: Picture


def pages_of(data: bytes, first: int = 1, step: int = 1) -> Iterator[FilePage]:
    """The pages of a JPEG, PNG, TIFF or PDF file, one at a time; from the first each `step`th.

    Raises PanelError: "file-too-large", "file-empty", "not-a-picture", "picture-broken",
    "too-many-pages", "page-too-large", "pdf-locked"; a later page may be refused after earlier ones
    were given.
    """
    if not data:
        raise _refused("file-empty", say("This file is empty. Choose the picture again."))
    if len(data) > MOST_BYTES:
        raise _refused(
            "file-too-large",
            say(
                "This file has %(size)s MB; at most %(most)s MB are taken. Send it in parts, or "
                "scan in grey at 200 dots per inch.",
                size=Number(len(data) / 1e6),
                most=Number(MOST_BYTES / 1e6, 0),
            ),
        )
    yield from _opener(data)(data, first, step)


Opener = Callable[[bytes, int, int], Iterator[FilePage]]


def _opener(data: bytes) -> Opener:
    """How to open the file, by its first bytes."""
    if data.startswith(b"\xff\xd8\xff"):
        return _images("JPEG")
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return _images("PNG")
    if data[:4] in (b"II*\x00", b"MM\x00*"):
        return _images("TIFF")
    if b"%PDF-" in data[:1024]:
        return _pdf
    if data[4:8] == b"ftyp":
        raise _refused("not-a-picture", PHONE_FORMAT)
    raise _refused("not-a-picture", NO_PICTURE)


NO_PICTURE = say(
    "This is no picture that can be read. Send photographs as JPEG or PNG, scans as PDF or TIFF."
)
PHONE_FORMAT = say(
    "This is a film, or a photograph in a phone's own format. Set the phone's camera to JPEG "
    "(“most compatible”), or send a screenshot of the picture."
)
BROKEN = say("This file is damaged and cannot be read. Send it again, or take the picture again.")


def _refused(code: str, message: Message) -> PanelError:
    return PanelError(code, message, field="file")


def _pdf(data: bytes, first: int, step: int) -> Iterator[FilePage]:
    found = pdf_pages(data, check_pages, check_pixels, first, step)
    for number, count, picture in found:
        yield FilePage(number, count, picture)


def check_pages(count: int) -> None:
    """PanelError "too-many-pages" beyond the limit, "picture-broken" for none."""
    if not count:
        raise _refused("picture-broken", BROKEN)
    if count > MOST_PAGES:
        raise _refused(
            "too-many-pages",
            say(
                "This file has %(count)s pages; at most %(most)s are taken at once. Send it in "
                "parts.",
                count=count,
                most=MOST_PAGES,
            ),
        )


def check_pixels(width: float, height: float, number: int) -> None:
    """PanelError "page-too-large" for a page of more pixels than the limit."""
    if width * height > MOST_PIXELS:
        raise _refused(
            "page-too-large",
            say(
                "Page %(number)s has %(size)s million pixels; at most %(most)s million are taken. "
                "Scan at 200 dots per inch, or take a smaller photograph.",
                number=number,
                size=Number(width * height / 1e6, 0),
                most=Number(MOST_PIXELS / 1e6, 0),
            ),
        )


def _images(kind: str) -> Opener:
    """Opens files of one kind only: Pillow is never asked to guess."""

    def opened(data: bytes, first: int, step: int) -> Iterator[FilePage]:
        try:
            with Image.open(BytesIO(data), formats=[kind]) as image:
                count = getattr(image, "n_frames", 1)
                check_pages(count)
                for number in range(first, count + 1, step):
                    image.seek(number - 1)
                    check_pixels(*image.size, number)
                    yield FilePage(number, count, grey_of(image))
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
            raise _refused("page-too-large", TOO_MANY_PIXELS) from bomb
        except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError) as broken:
            raise _refused("picture-broken", BROKEN) from broken

    return opened


TOO_MANY_PIXELS = say(
    "This picture has more than %(most)s million pixels, which is the most that is taken. Scan at "
    "200 dots per inch, or take a smaller photograph.",
    most=Number(MOST_PIXELS / 1e6, 0),
)


def grey_of(image: Image.Image) -> Picture:
    """An opened image as grey, upright, on white where it is transparent; nothing else is kept."""
    if image.format == "JPEG" and image.width * image.height > ENOUGH_PIXELS:
        image.draft("L", (image.width // 2, image.height // 2))
    upright = ImageOps.exif_transpose(image)
    if upright.mode.startswith("I;16") or upright.mode in ("I", "F"):
        deep = np.asarray(upright, dtype=np.float32)
        top = 65535.0 if deep.max(initial=0) > 255 else 255.0
        shallow: Picture = np.clip(deep * (255.0 / top), 0, 255).astype(np.uint8)
        return shallow
    if upright.mode in ("LA", "PA", "RGBA") or "transparency" in upright.info:
        clear = upright.convert("RGBA")
        white = Image.new("RGBA", clear.size, (255, 255, 255, 255))
        upright = Image.alpha_composite(white, clear)
    grey: Picture = np.array(upright.convert("L"))
    return grey
