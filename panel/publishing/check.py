"""Is a published bundle what it says? Every item gets a line: what holds, or what is wrong.

The check knows nothing but the bundle. What only the world outside can show is said where it
applies: that the seal was on the poster before serving is for whoever kept the poster to say.
"""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from panel import __version__
from panel.core.allocation.seal import read_seal
from panel.core.errors import PanelError
from panel.core.message import Message, Speak, say, say_n
from panel.core.result import Result
from panel.publishing import check_draw, check_facts, check_findings, check_record
from panel.publishing.bundle_reading import Handed, handed
from panel.publishing.bundle_rebuilt import Rebuilt, rebuilt
from panel.publishing.check_files import check_files
from panel.publishing.check_line import CheckLine, wrong
from panel.publishing.static_page import BUNDLE, static_contents

UNREADABLE = (
    ArithmeticError,
    AttributeError,
    LookupError,
    PanelError,
    RecursionError,
    TypeError,
    ValueError,
)
"""What reading something that is not what it should be can end in."""

Speaker = Callable[[str], Speak]
"""Language to who says messages in it, as whoever published did (panel.catalogue.speaker)."""


def check_bundle(
    source: bytes | Path, *, speaker: Speaker, seal: str = ""
) -> tuple[CheckLine, ...]:
    """A line for each item of a bundle: the bytes of its ZIP, its file, or its folder.

    seal: as printed on poster or card, to be compared; its first 8 characters are
    enough. Everything holds where every line does. PanelError for what is no bundle at all
    (bundle_reading.handed).
    """
    pack = handed(source)
    lines = list(check_files(pack))
    try:
        known = rebuilt(pack.files)
    except UNREADABLE as failure:
        lines.append(wrong("contents", _not_read(failure)))
        return tuple(lines)
    if seal.strip():
        lines += _tried("poster", lambda: _poster(known, seal))
    speak = speaker(known.language)
    for item, check in _items(pack, known, speak):
        lines += _tried(item, check)
    return tuple(lines)


_Check = Callable[[], Iterable[CheckLine]]


def _items(pack: Handed, known: Rebuilt, speak: Speak) -> Iterator[tuple[str, _Check]]:
    files = pack.files
    yield "seal", lambda: check_draw.check_seal(files, known)
    yield "dice", lambda: check_draw.check_dice(known)
    yield "draw", lambda: check_draw.check_draws(files, known)
    yield "ballots", lambda: check_findings.check_ballots(files, known)
    yield "findings", lambda: check_findings.check_findings(files, known, speak)
    yield "facts", lambda: check_facts.check_facts(files, known)
    yield "amendments", lambda: check_record.check_amendments(files, known)
    yield "record", lambda: check_record.check_record(files, known)
    if pack.beside:
        yield "folder", lambda: _folder(pack, known, speak)


def _tried(item: str, check: _Check) -> list[CheckLine]:
    try:
        return list(check())
    except UNREADABLE as failure:
        return [wrong(item, _not_read(failure))]


def _not_read(failure: Exception) -> Message:
    if isinstance(failure, KeyError):
        return say("%(what)s is missing.", what=str(failure))
    return say("It cannot be read: %(why)s.", why=str(failure).rstrip(".") or "no reason known")


def _poster(known: Rebuilt, typed: str) -> Iterator[CheckLine]:
    """The seal that somebody kept from before serving."""
    short = "".join(typed.split()).lower()
    digest = known.comparison.seal.digest if known.comparison.seal else ""
    whole = short if len(short) == 8 else read_seal(typed)
    if digest and digest.startswith(whole):
        yield CheckLine("poster", True, say("The seal is the one you typed."))
    else:
        yield wrong(
            "poster",
            say(
                "The seal you typed is not this bundle's, which begins with %(digits)s. If you "
                "typed it right, this is another plan or another draw than was shown.",
                digits=digest[:8],
            ),
        )


def _folder(pack: Handed, known: Rebuilt, speak: Speak) -> Iterator[CheckLine]:
    """The published folder around a bundle: made anew, it must be the same to the byte."""
    result: Result = known.result()
    expected = static_contents(
        result,
        known.comparison,
        opened=known.opened,
        speak=speak,
        language=known.language,
        edition=known.edition if known.edition.link else None,
        bundle=b"",
    )
    del expected[BUNDLE]
    odd = sorted(
        name
        for name in pack.beside.keys() | expected.keys()
        if pack.beside.get(name) != expected.get(name)
    )
    if not odd:
        count = len(expected)
        yield CheckLine(
            "folder",
            True,
            say_n(
                "The one file beside the bundle is what the bundle makes.",
                "The %(count)s files beside the bundle are what the bundle makes.",
                count,
            ),
        )
    for name in odd:
        yield wrong("folder", _odd_file(name, known, pack.beside, expected))


def _odd_file(
    name: str, known: Rebuilt, beside: dict[str, bytes], expected: dict[str, bytes]
) -> Message:
    if name not in expected:
        return say("%(name)s does not belong to a published result.", name=name)
    if name not in beside:
        return say("%(name)s is missing beside the bundle.", name=name)
    here = f"panel {__version__}"
    if known.software != here:
        return say(
            "%(name)s is not what %(here)s makes of the bundle; it was written by %(software)s, "
            "which may word or draw it otherwise. Check it with that version.",
            name=name,
            here=here,
            software=known.software,
        )
    return say("%(name)s is not what the bundle makes: it was changed.", name=name)


__all__ = ["CheckLine", "check_bundle"]
