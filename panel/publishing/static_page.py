"""A published result as a folder of files: it works from any web space or memory stick.

index.html, style.css, type/, findings.json; codes.html and look-up.js (card and code to what it
was); sealed.json (its SHA-256 is the seal) and plan.json (the same plan, readable); report.pdf (to
be printed), picture.png (to be shared); bundle.zip (everything as data, to be checked).
"""

import hashlib
import hmac
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import Any

from markupsafe import Markup

from panel.core.allocation.check_letter import card_number
from panel.core.allocation.dice import Dice
from panel.core.allocation.seal import sealed_bytes
from panel.core.comparison import Comparison, Key, Tray
from panel.core.drawing import Face
from panel.core.errors import Fault, PanelError
from panel.core.message import Moment, Speak, say
from panel.core.result import Result
from panel.printing.fonts import FONT_FILES
from panel.publishing import conditions, style
from panel.publishing.page import Links, page_html, result_html
from panel.publishing.picture import describe, picture_png
from panel.publishing.report import report_pdf
from panel.publishing.report.edition import Edition
from panel.publishing.schema import FORMAT, result_words

BUNDLE = "bundle.zip"
REPORT = "report.pdf"
PICTURE = "picture.png"
LINKS = Links(
    sealed="sealed.json",
    plan="plan.json",
    findings="findings.json",
    codes="codes.html",
    bundle=BUNDLE,
    report=REPORT,
    picture=PICTURE,
)

Contents = dict[str, bytes]
"""File name, with its folder, to what stands in it."""


@dataclass(frozen=True, kw_only=True)
class OpenedSeal:
    """What lay under the seal. document: the plan document as it was sealed; secret: 32 bytes.

    key and trays: the whole opened key and all trays; of sittings added after sealing too, which
    the seal does not cover and which are left out of what is checked against it. informed: the
    numbers of the trays that the lots of split sittings have informed. dice: the secret's parts
    where members threw some.
    """

    document: Mapping[str, Any]
    secret: bytes
    key: Key
    trays: tuple[Tray, ...]
    informed: frozenset[int] = frozenset()
    dice: Dice | None = None

    def key_words(self) -> dict[str, list[list[str]]]:
        """The key as it was sealed: {"17": [["482", "A"], ["153", "B"], ...]}."""
        return {
            str(tray.number): [
                [cup.code, self.key[tray.number][cup.position - 1]] for cup in tray.cups
            ]
            for tray in self._covered()
        }

    def informed_sealed(self) -> frozenset[int]:
        """Who is told, as it was sealed."""
        return self.informed & {tray.number for tray in self._covered()}

    def sealed_bytes(self) -> bytes:
        """The canonical bytes whose SHA-256 is the seal (core.allocation.seal)."""
        dice = None if self.dice is None else self.dice.words()
        told = self.informed_sealed()
        return sealed_bytes(self.document, self.key_words(), self.secret, told, dice)

    def digest(self) -> str:
        """The seal that plan, key and secret make, SHA-256 in hex."""
        return hashlib.sha256(self.sealed_bytes()).hexdigest()

    def holds(self, digest: str) -> bool:
        """Whether plan, key and secret make this seal."""
        return hmac.compare_digest(digest, self.digest())

    def _covered(self) -> tuple[Tray, ...]:
        sealed = {sitting["id"] for sitting in self.document["sittings"]}
        return tuple(tray for tray in self.trays if tray.sitting in sealed)


def write_static(
    result: Result,
    comparison: Comparison,
    out: Path,
    *,
    opened: OpenedSeal,
    edition: Edition | None = None,
    bundle: bytes | None = None,
    speak: Speak = str,
    language: str = "en",
) -> tuple[Path, ...]:
    """Write the folder and return its files. edition: of its report, without which there is
    neither report nor picture. bundle: as bundle.bundle_bytes makes it.

    `out` is made where it is missing, and written over where it holds a result of this same
    comparison. PanelError "folder-in-use" where it holds anything else; nothing is written then.
    """
    _check_folder(out, comparison)
    contents = static_contents(
        result,
        comparison,
        opened=opened,
        edition=edition,
        bundle=bundle,
        speak=speak,
        language=language,
    )
    written = []
    for name, content in contents.items():
        path = out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        written.append(path)
    return tuple(written)


def static_contents(
    result: Result,
    comparison: Comparison,
    *,
    opened: OpenedSeal,
    edition: Edition | None = None,
    bundle: bytes | None = None,
    speak: Speak = str,
    language: str = "en",
) -> Contents:
    """Everything that the folder holds, so that it may be written to a disk or into an archive.
    Without a bundle or an edition there is no link to what it would be."""
    seal_holds = result.seal is not None and opened.holds(result.seal.digest)
    beside = {} if bundle is None else {BUNDLE: bundle}
    if edition is not None:
        beside |= beside_page(result, comparison, edition, seal_holds, speak)
    links = replace(_links(beside), lasting="" if edition is None else edition.link)
    article = result_html(result, comparison, links=links, seal_holds=seal_holds, speak=speak)
    frame: dict[str, Any] = {
        "title": comparison.title,
        "description": describe(result, comparison, speak),
        "picture": f"{edition.link.rstrip('/')}/{PICTURE}" if edition and edition.link else "",
    }
    index = page_html(
        "static_result.html",
        speak,
        language,
        article=Markup(article),
        published=_published(comparison, speak),
        **frame,
    )
    codes = page_html("static_codes.html", speak, language, **_codes(comparison, opened), **frame)
    return {
        "index.html": index.encode(),
        "codes.html": codes.encode(),
        "style.css": style.static_style().encode(),
        "look-up.js": files(style).joinpath("look-up.js").read_bytes(),
        "findings.json": _json(result_words(result, comparison, speak)),
        "plan.json": _json(opened.document),
        "sealed.json": opened.sealed_bytes(),
        **{f"type/{face}.ttf": FONT_FILES[face].read_bytes() for face in Face},
        **beside,
    }


def beside_page(
    result: Result, comparison: Comparison, edition: Edition, seal_holds: bool, speak: Speak
) -> Contents:
    """The report and the picture of a published result."""
    whole = replace(edition, published=comparison.published, seal_holds=seal_holds)
    return {
        REPORT: report_pdf(result, comparison, whole, speak),
        PICTURE: picture_png(result, comparison, speak),
    }


def _links(beside: Iterable[str]) -> Links:
    """Links to what there is."""
    missing = {"bundle": BUNDLE, "report": REPORT, "picture": PICTURE}
    gone = {name: "" for name, file in missing.items() if file not in beside}
    return replace(LINKS, **gone)


def _published(comparison: Comparison, speak: Speak) -> str:
    if comparison.published is None:
        return ""
    moment = Moment(comparison.published, conditions.zone(comparison))
    return speak(say("%(moment)s", moment=moment))


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False).encode() + b"\n"


# --- card and code to what it was -----------------------------------------------------------------


@dataclass(frozen=True)
class KnownCup:
    """A cup with its answer."""

    code: str
    letter: str
    beer: str


@dataclass(frozen=True)
class KnownTray:
    """A tray with its answers. `card` is the number with its check letter."""

    number: int
    card: str
    cups: tuple[KnownCup, ...]


def _codes(comparison: Comparison, opened: OpenedSeal) -> dict[str, Any]:
    names = {beer.letter: beer.name or beer.letter for beer in comparison.beers}
    trays = tuple(_known(opened.trays, opened.key, names))
    return {
        "trays": trays,
        "beers": comparison.beers,
        "places": range(1, max((len(tray.cups) for tray in trays), default=0) + 1),
    }


def _known(trays: Iterable[Tray], key: Key, names: Mapping[str, str]) -> Iterable[KnownTray]:
    for tray in sorted(trays, key=lambda tray: tray.number):
        order = key[tray.number]
        yield KnownTray(
            tray.number,
            card_number(tray.number),
            tuple(
                KnownCup(cup.code, letter, names.get(letter, letter))
                for cup, letter in zip(tray.cups, order, strict=True)
            ),
        )


# --- the folder -----------------------------------------------------------------------------------


def _check_folder(out: Path, comparison: Comparison) -> None:
    """Nothing of somebody else's is written over."""
    if not out.exists():
        return
    if out.is_dir() and (not any(out.iterdir()) or _holds_this(out, comparison)):
        return
    raise PanelError(
        "folder-in-use",
        say(
            "The folder %(folder)s holds something else already. Name a new or an empty folder; "
            "only a result of the same comparison is written over.",
            folder=out.name,
        ),
        Fault.INPUT,
        field="out",
    )


def _holds_this(out: Path, comparison: Comparison) -> bool:
    try:
        words = json.loads((out / "findings.json").read_text(encoding="utf-8"))
        known = words["format"] == FORMAT and words["comparison"]["id"] == comparison.id
    except (OSError, ValueError, KeyError, TypeError):
        return False
    return bool(known)
