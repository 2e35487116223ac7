"""A sealed, closed and opened comparison of the invented guild, ready to be published."""

from dataclasses import replace
from datetime import timedelta

from panel.core.allocation.seal import seal_digest
from panel.core.amendment import Amendment
from panel.core.comparison import Seal
from panel.core.names import Standing
from panel.core.plan_document import plan_document
from panel.core.result import Result, result_of
from panel.publishing.static_page import OpenedSeal
from tests.results import NOON, Evening

SECRET = bytes(range(32))


def opened(event: Evening) -> tuple[Evening, OpenedSeal]:
    """The evening under a seal that holds, published, and what lay under the seal."""
    document = plan_document(event.comparison, "panel 0.0")
    seal = OpenedSeal(document=document, secret=SECRET, key=event.key, trays=event.trays)
    digest = seal_digest(document, seal.key_words(), SECRET)
    compared = replace(
        event.comparison,
        seal=Seal(digest=digest, made=NOON),
        standing=Standing.PUBLISHED,
        published=NOON + timedelta(hours=11),
    )
    return replace(event, comparison=compared), seal


def result(event: Evening, *amendments: Amendment) -> Result:
    """The result of an evening."""
    return result_of(event.comparison, event.key, event.trays, event.ballots, amendments)
