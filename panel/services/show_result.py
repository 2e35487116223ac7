"""The result as people read it: on the organiser's page, for the public, and as a static folder."""

import json
from dataclasses import dataclass, replace
from pathlib import Path

from sqlalchemy.orm import Session

from panel import __version__
from panel.catalogue import speaker
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.kinds import AnyFinding
from panel.core.message import Speak, say
from panel.core.names import Standing
from panel.core.result import Result
from panel.publishing.bundle import Choice, Published, bundle_bytes
from panel.publishing.bundle_tables import Counted
from panel.publishing.page import Links, result_html
from panel.publishing.picture import describe, picture_png
from panel.publishing.report import report_pdf
from panel.publishing.report.edition import Edition
from panel.publishing.static_page import REPORT, OpenedSeal, write_static
from panel.publishing.style import result_style
from panel.services.addresses import lasting_link
from panel.services.print_kit import Printed
from panel.services.publish import public_page
from panel.services.record import record
from panel.services.tally import Opened, opened_of, seen_by
from panel.services.workplace import Actor, Workplace
from panel.store import comparisons as comparisons_store
from panel.store import records


@dataclass(frozen=True, kw_only=True)
class Told:
    """All that pages, report and picture are made of; seal_holds: whether plan, key and secret
    make the seal again."""

    comparison: Comparison
    result: Result
    seal_holds: bool


def article(at: Workplace, actor: Actor, comparison_id: str, speak: Speak) -> str:
    """The result of a closed comparison as HTML, for whom the table of sights lets see it."""
    return _article(_seen(at, actor, comparison_id), speak, Links())


def public_article(at: Workplace, slug: str, speak: Speak, links: Links | None = None) -> str:
    """The published result as HTML; PanelError (fault MISSING) before publication."""
    return _article(_published(at, slug), speak, links or Links())


def report(at: Workplace, actor: Actor, comparison_id: str) -> Printed:
    """The report of a closed comparison as a PDF, for whom the table of sights lets see it; marked
    as a draft until it is published."""
    return _report(at, _seen(at, actor, comparison_id))


def public_report(at: Workplace, slug: str) -> Printed:
    """The published report; PanelError (fault MISSING) before publication."""
    return _report(at, _published(at, slug))


def public_picture(at: Workplace, slug: str) -> bytes:
    """The published result as one PNG; PanelError (fault MISSING) before publication."""
    told = _published(at, slug)
    known = told.comparison
    return picture_png(told.result, known, speaker(_language(known)))


def public_summary(at: Workplace, slug: str, speak: Speak) -> str:
    """The published result in a few sentences, for whatever shows a link to it."""
    told = _published(at, slug)
    return describe(told.result, told.comparison, speak)


def findings(session: Session, at: Workplace, known: Comparison) -> tuple[AnyFinding, ...]:
    """The findings of a published comparison; PanelError (fault MISSING) before publication."""
    return _told(session, at, _require_published(known)).result.findings


def style_sheet() -> str:
    """The style of the article, which names no colour or face outside the tokens of the pages."""
    return result_style()


@dataclass(frozen=True, kw_only=True)
class Wishes:
    """What an organiser may choose of a bundle: its licence, and whether what tasters wrote in
    their own words is given too (never of small groups)."""

    licence: str
    free_words: bool = False


def bundle(at: Workplace, actor: Actor, comparison_id: str, wishes: Wishes | None = None) -> bytes:
    """The published data as a ZIP that anybody can check, with an organiser's wishes."""
    actor.require_organiser()
    with at.units.read() as session:
        known = comparisons_store.load(session, comparison_id)
        return _bundle(at, _published_whole(session, known), wishes)


def public_bundle(at: Workplace, slug: str) -> bytes:
    """The same for anybody: without free words, under the installation's licence. PanelError
    (fault MISSING) before publication."""
    known = public_page(at, slug).comparison
    with at.units.read() as session:
        return _bundle(at, _published_whole(session, known), None)


def publish_static(
    at: Workplace, actor: Actor, comparison_id: str, out: Path, wishes: Wishes | None = None
) -> tuple[Path, ...]:
    """The published result as one static folder that works from any web space or memory stick.

    PanelError "folder-in-use" where `out` holds anything else; nothing is written then.
    """
    actor.require_organiser()
    with at.units.read() as session:
        known = comparisons_store.load(session, comparison_id)
        whole = _published_whole(session, known)
    language = _language(whole.comparison)
    files = write_static(
        whole.result,
        whole.comparison,
        out,
        opened=whole.opened,
        edition=_edition(at, whole.comparison),
        bundle=_bundle(at, whole, wishes),
        speak=speaker(language),
        language=language,
    )
    with at.units.begin() as session:
        record(session, at, actor, comparison_id, Deed.EXPORTED, files=len(files))
    return files


def opened_seal(opened: Opened) -> OpenedSeal:
    """What lay under the seal of a closed comparison."""
    return OpenedSeal(
        document=json.loads(opened.document),
        secret=bytes.fromhex(opened.secret),
        key=opened.key,
        trays=opened.trays,
        informed=opened.informed,
        dice=opened.dice,
    )


def _published_whole(session: Session, known: Comparison | None) -> Published:
    """Everything of a published comparison, with its chain of the record."""
    opened = _opened(session, known)
    return Published(
        result=opened.result,
        counted=Counted(
            comparison=opened.comparison,
            key=opened.key,
            trays=opened.trays,
            ballots=opened.ballots,
            revealed=opened.revealed,
            informed=opened.informed,
        ),
        opened=opened_seal(opened),
        lines=tuple(records.of_chain(session, opened.comparison.id)),
    )


def _bundle(at: Workplace, whole: Published, wishes: Wishes | None) -> bytes:
    chosen = wishes or Wishes(licence=at.settings.licence)
    choice = Choice(
        edition=_edition(at, whole.comparison),
        licence=chosen.licence,
        free_words=chosen.free_words,
    )
    return bundle_bytes(whole, choice, speaker(choice.edition.language))


def _edition(at: Workplace, known: Comparison) -> Edition:
    """Of a comparison's report, as its first sitting is printed and spoken."""
    return Edition(
        link=lasting_link(at.settings, known),
        software=f"panel {__version__}",
        paper=known.sittings[0].paper if known.sittings else at.settings.paper,
        language=_language(known),
    )


def _report(at: Workplace, told: Told) -> Printed:
    known = told.comparison
    edition = replace(_edition(at, known), published=known.published, seal_holds=told.seal_holds)
    pdf = report_pdf(told.result, known, edition, speaker(edition.language))
    return Printed(f"{known.slug}-{REPORT}", pdf)


def _article(told: Told, speak: Speak, links: Links) -> str:
    return result_html(
        told.result, told.comparison, links=links, seal_holds=told.seal_holds, speak=speak
    )


def _seen(at: Workplace, actor: Actor, comparison_id: str) -> Told:
    with at.units.read() as session:
        return _told(session, at, seen_by(session, actor, comparison_id))


def _published(at: Workplace, slug: str) -> Told:
    known = public_page(at, slug).comparison
    with at.units.read() as session:
        _require_published(known)
        return _told(session, at, known)


def _told(session: Session, at: Workplace, known: Comparison) -> Told:
    end = records.last(session, known.id)
    told: Told = at.results.of(known, end.hash if end else "", lambda: _reckoned(session, known))
    return told


def _reckoned(session: Session, known: Comparison) -> Told:
    opened = opened_of(session, known)
    seal = opened.result.seal
    return Told(
        comparison=known,
        result=opened.result,
        seal_holds=seal is not None and opened_seal(opened).holds(seal.digest),
    )


def _opened(session: Session, known: Comparison | None) -> Opened:
    return opened_of(session, _require_published(known))


def _require_published(known: Comparison | None) -> Comparison:
    if known is None or known.standing is not Standing.PUBLISHED:
        raise PanelError(
            "not-published",
            say("This comparison is not published. Publish it first; then it can be shown."),
            Fault.MISSING,
        )
    return known


def _language(known: Comparison) -> str:
    return known.sittings[0].language if known.sittings else "en"
