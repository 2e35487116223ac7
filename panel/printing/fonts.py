"""The four faces: files, glyphs and widths. The same files serve the pages (`FONT_FILES`).

Source Sans and Source Serif (SIL Open Font License) come with the packages font-source-sans-pro
and font-source-serif-pro; the files with TrueType outlines, which reportlab embeds as subsets. No
italics: names that users type are printed upright. The faces hold Latin, Greek and Cyrillic;
a text with any other character is refused with its name before a page is begun.
"""

import unicodedata
from collections.abc import Mapping
from pathlib import Path
from threading import Lock

import font_source_sans_pro
import font_source_serif_pro
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from panel.core.drawing import POINT, Face
from panel.core.errors import PanelError
from panel.core.message import Message, say

_SANS = Path(font_source_sans_pro.font_directory)
_SERIF = Path(font_source_serif_pro.font_directory)

FONT_FILES: dict[Face, Path] = {
    Face.TEXT: _SANS / "SourceSansPro-Regular.ttf",
    Face.SEMIBOLD: _SANS / "SourceSansPro-Semibold.ttf",
    Face.BOLD: _SANS / "SourceSansPro-Bold.ttf",
    Face.TITLE: _SERIF / "SourceSerifPro-Semibold.ttf",
}
"""Where each face lies on this machine: for the printer here and for the web to serve."""

_FONT_NAMES: dict[Face, str] = {face: f"panel-{face}" for face in Face}
_lock = Lock()


def font_name(face: Face) -> str:
    """The name under which reportlab knows the face, which is loaded when first asked for."""
    name = _FONT_NAMES[face]
    with _lock:
        if name not in pdfmetrics._fonts:
            pdfmetrics.registerFont(TTFont(name, str(FONT_FILES[face])))
    return name


def text_width(text: str, face: Face, size: float) -> float:
    """The width of a text in millimetres; size in points. A `core.drawing.Measure`."""
    return float(pdfmetrics.stringWidth(text, font_name(face_for(text, face)), size)) * POINT


def face_for(text: str, face: Face) -> Face:
    """The face in which the text is really set: the serif has fewer letters than the sans (no Ŋ,
    no Greek of old), so a title it cannot show is set in the bold sans."""
    if face is not Face.TITLE or text.isascii() or _shows(face, text):
        return face
    return Face.BOLD if _shows(Face.BOLD, text) else face


def _shows(face: Face, text: str) -> bool:
    known = _characters(face)
    return all(ord(character) in known for character in text)


def _characters(face: Face) -> Mapping[int, int]:
    """Code point to glyph, as the font file has it."""
    characters: Mapping[int, int] = pdfmetrics.getFont(font_name(face)).face.charToGlyph
    return characters


def glyphs(face: Face) -> frozenset[int]:
    """The code points the face can show."""
    return frozenset(_characters(face))


def printable(text: str, face: Face, what: Message | None = None) -> str:
    """The text in composed form (NFC), fit to be printed in that face.

    Raises PanelError "unprintable-name" with the character and the text if the face has no glyph
    for one of its characters, or would set it in the wrong place (a combining mark without a
    letter to join, an invisible control).
    """
    composed = unicodedata.normalize("NFC", text)
    known = _characters(face_for(composed, face))
    for character in composed:
        if ord(character) not in known or unicodedata.category(character) in _UNSETTABLE:
            raise PanelError("unprintable-name", _unprintable(character, composed, what))
    return composed


_UNSETTABLE = ("Mn", "Me", "Cc", "Cf", "Zl", "Zp")


def _unprintable(character: str, text: str, what: Message | None) -> Message:
    seen = character if unicodedata.category(character)[0] not in "CMZ" else "◌"
    return say(
        "The sheets' typeface cannot print the character “%(character)s” (%(name)s) in "
        "%(what)s: “%(text)s”. Write it in Latin, Greek or Cyrillic letters.",
        character=seen,
        name=unicodedata.name(character, f"U+{ord(character):04X}").lower(),
        what=what or say("this text"),
        text=text,
    )
