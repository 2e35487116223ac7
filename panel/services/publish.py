"""Publishing: the result and the opened seal become public for good."""

from dataclasses import dataclass, replace

from panel.core import lifecycle
from panel.core.blinded_view import blinded_view
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Standing
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import comparisons as comparisons_store


@dataclass(frozen=True)
class PublicPage:
    """What anybody may see of a comparison now: neutral words and the seal until publication."""

    comparison: Comparison

    @property
    def published(self) -> bool:
        """Whether the result may be shown."""
        return self.comparison.standing is Standing.PUBLISHED


def publish(at: Workplace, actor: Actor, comparison_id: str) -> Comparison:
    """Publishes the findings of a closed comparison."""
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("publish", known.standing)
        done = replace(known, standing=Standing.PUBLISHED, published=at.now())
        comparisons_store.set_standing(session, comparison_id, done.standing, done.published)
        record(session, at, actor, comparison_id, Deed.PUBLISHED)
    return done


def published(at: Workplace) -> tuple[Comparison, ...]:
    """Every published comparison, the last one first."""
    with at.units.read() as session:
        return comparisons_store.published(session)


def public_page(at: Workplace, slug: str) -> PublicPage:
    """The public page of a sealed comparison; PanelError (fault MISSING) for anything else."""
    with at.units.read() as session:
        known = comparisons_store.by_slug(session, slug)
    if known is None or known.standing is Standing.DRAFTED:
        raise PanelError(
            "no-such-page",
            say("There is nothing at this address. Check the address on the poster or the card."),
            Fault.MISSING,
        )
    if known.standing is not Standing.PUBLISHED:
        known = blinded_view(known)
    return PublicPage(known)
