"""The bundle's files that are no tables: facts of the comparison, amendments, record, draw."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from panel.core.allocation.draw_facts import draw_facts
from panel.core.amendment import Amendment
from panel.core.comparison import Comparison, Sitting
from panel.core.deeds import OF_ONE_TRAY, Deed
from panel.core.plan_document import moment_words, sitting_words
from panel.core.record import BEGINNING, Record, told_of
from panel.publishing.report.edition import Edition
from panel.publishing.static_page import OpenedSeal

FORMAT = "panel comparison"
RECORD_FORMAT = "panel record"
VERSION = 1


def comparison_words(
    comparison: Comparison, opened: OpenedSeal, edition: Edition
) -> dict[str, Any]:
    """What the plan cannot know: when the seal was made and opened, and every sitting held.

    Moments to the microsecond: whether the seal was made before serving follows from them. A
    sitting added after sealing is not in the plan: its words stand here.
    """
    sealed = {sitting["id"] for sitting in opened.document["sittings"]}
    seal = comparison.seal
    return {
        "format": FORMAT,
        "version": VERSION,
        "software": edition.software,
        "language": edition.language,
        **({"address": edition.link, "paper": str(edition.paper)} if edition.link else {}),
        "comparison": comparison.id,
        "seal": None if seal is None else {"digest": seal.digest, "made": _exactly(seal.made)},
        "closed": _exactly(comparison.closed),
        "published": _exactly(comparison.published),
        "sittings": [_sitting(sitting, sitting.id in sealed) for sitting in comparison.sittings],
    }


def _sitting(sitting: Sitting, sealed: bool) -> dict[str, Any]:
    words = {
        "id": sitting.id,
        "standing": str(sitting.standing),
        "opened": _exactly(sitting.opened),
        "closed": _exactly(sitting.closed),
        "in the plan": sealed,
    }
    return words if sealed else {**words, "sitting": sitting_words(sitting)}


def _exactly(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="microseconds")


def amendments_words(amendments: Iterable[Amendment]) -> list[dict[str, Any]]:
    """What was changed after sealing, as findings.json has it."""
    return [
        {
            "number": amendment.number,
            "made": moment_words(amendment.made),
            "what": amendment.what,
            "reason": amendment.reason,
        }
        for amendment in amendments
    ]


def draw_files(comparison: Comparison, opened: OpenedSeal) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each sitting's file with what docs/draw.py reads; its first card number is the lowest."""
    for sitting in comparison.sittings:
        first = min(tray.number for tray in opened.trays if tray.sitting == sitting.id)
        facts = draw_facts(comparison, sitting, first)
        yield f"draw/{sitting.id}.json", {"secret": opened.secret.hex(), **facts}


def record_words(chain: str, lines: Iterable[Record]) -> dict[str, Any]:
    """The record up to the last publication, so that nothing written later (a bundle made, a name
    erased) changes the bundle. Of a line about one tray only its deed and hashes are given."""
    kept = _until_published(lines)
    return {
        "format": RECORD_FORMAT,
        "version": VERSION,
        "chain": chain,
        "count": len(kept),
        "head": kept[-1].hash if kept else BEGINNING,
        "lines": [_line(line) for line in kept],
    }


def _until_published(lines: Iterable[Record]) -> list[Record]:
    kept = list(lines)
    last = [place for place, line in enumerate(kept, start=1) if line.what == Deed.PUBLISHED]
    return kept[: last[-1]] if last else kept


def _line(line: Record) -> dict[str, Any]:
    words: dict[str, Any] = {"sequence": line.sequence, "what": line.what}
    if line.what in OF_ONE_TRAY:
        words["told"] = told_of(line)
    else:
        words |= {
            "at": line.at,
            "role": line.role,
            "who": line.who,
            "subject": line.subject,
            "detail": line.detail,
        }
    return {**words, "hash": line.hash}
