"""The result as people read it: on the organiser's page, for the public, and as a static folder."""

import json
from pathlib import Path

from sqlalchemy.orm import Session

from panel.catalogue import speaker
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import Speak, say
from panel.core.names import Standing
from panel.publishing.page import Links, result_html
from panel.publishing.static_page import OpenedSeal, write_static
from panel.publishing.style import result_style
from panel.services.publish import public_page
from panel.services.record import record
from panel.services.tally import Opened, findings, opened_of
from panel.services.workplace import Actor, Workplace
from panel.store import comparisons as comparisons_store


def article(at: Workplace, actor: Actor, comparison_id: str, speak: Speak) -> str:
    """The result of a closed comparison as HTML, for whom the table of sights lets see it."""
    return _article(findings(at, actor, comparison_id), speak, Links())


def public_article(at: Workplace, slug: str, speak: Speak, links: Links | None = None) -> str:
    """The published result as HTML; PanelError (fault MISSING) before publication."""
    return _article(_published(at, slug), speak, links or Links())


def style_sheet() -> str:
    """The style of the article, which names no colour or face outside the tokens of the pages."""
    return result_style()


def publish_static(at: Workplace, actor: Actor, comparison_id: str, out: Path) -> tuple[Path, ...]:
    """The published result as one static folder that works from any web space or memory stick.

    PanelError "folder-in-use" where `out` holds anything else; nothing is written then.
    """
    actor.require_organiser()
    with at.units.read() as session:
        known = comparisons_store.load(session, comparison_id)
        opened = _opened(session, known)
    files = write_static(
        opened.result,
        opened.comparison,
        out,
        opened=opened_seal(opened),
        speak=speaker(_language(opened.comparison)),
        language=_language(opened.comparison),
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


def _article(opened: Opened, speak: Speak, links: Links) -> str:
    seal = opened.result.seal
    holds = seal is not None and opened_seal(opened).holds(seal.digest)
    return result_html(opened.result, opened.comparison, links=links, seal_holds=holds, speak=speak)


def _published(at: Workplace, slug: str) -> Opened:
    known = public_page(at, slug).comparison
    with at.units.read() as session:
        return _opened(session, known)


def _opened(session: Session, known: Comparison | None) -> Opened:
    if known is None or known.standing is not Standing.PUBLISHED:
        raise PanelError(
            "not-published",
            say("This comparison is not published. Publish it first; then it can be shown."),
            Fault.MISSING,
        )
    return opened_of(session, known)


def _language(known: Comparison) -> str:
    return known.sittings[0].language if known.sittings else "en"
