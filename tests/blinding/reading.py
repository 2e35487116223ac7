"""All words that can be got out of an artefact by whoever has nothing better to do.

Pages as they are sent, comments and attributes included; headers; what signed cookies hold, which
are signed and not encrypted; files of sheets with their metadata, their unpacked streams and every
text on their pages, white, hidden or off the page.
"""

import re
import zlib
from base64 import urlsafe_b64decode
from binascii import Error as NotBase64
from collections.abc import Iterator
from html import unescape
from urllib.parse import unquote

import pypdfium2 as pdfium

from tests.blinding.artefacts import Artefact

PDF = b"%PDF-"


def everything_in(one: Artefact) -> str:
    """Name, head and body of an artefact, and all that is packed in them, as one text."""
    head = "\n".join((one.name, *one.head))
    parts = [head, unquote(head), *unpacked_words(head)]
    if one.body.startswith(PDF):
        parts += [*streams(one.body), *texts_and_metadata(one.body)]
    else:
        page = one.body.decode("utf-8", "replace")
        parts += [page, unescape(page), unquote(page), *unpacked_words(page)]
    return "\n".join(parts)


def unpacked_words(text: str) -> Iterator[str]:
    """What runs of base 64 in a text hold, unpacked if they are packed."""
    for run in re.findall(r"\.?[\w-]{16,}", text):
        yield _opened(run.lstrip("."), packed=run.startswith("."))


def _opened(run: str, packed: bool) -> str:
    try:
        plain = urlsafe_b64decode(run + "=" * (-len(run) % 4))
        return (zlib.decompress(plain) if packed else plain).decode("utf-8", "replace")
    except (NotBase64, ValueError, zlib.error):
        return ""


def streams(pdf: bytes) -> Iterator[str]:
    """The file as it lies on the disk, and each of its streams unpacked."""
    yield pdf.decode("latin-1")
    for found in re.finditer(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        try:
            yield zlib.decompressobj().decompress(found[1]).decode("latin-1")
        except zlib.error:
            continue


def texts_and_metadata(pdf: bytes) -> Iterator[str]:
    """Every text of every page, seen or not, and what the file says of itself."""
    document = pdfium.PdfDocument(pdf)
    try:
        yield from document.get_metadata_dict().values()
        for page in document:
            text = page.get_textpage()
            yield re.sub(r"\s+", " ", text.get_text_range())
            text.close()
            page.close()
    finally:
        document.close()
