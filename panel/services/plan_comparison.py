"""Planning: a comparison is started, changed and given its sittings, until it is sealed."""

from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlalchemy.orm import Session

from panel.core import lifecycle
from panel.core.blinding import blinding_of
from panel.core.comparison import Beer, Comparison, Sitting
from panel.core.deeds import Deed
from panel.core.drafts import check_draft, check_sitting
from panel.core.duties import Duties
from panel.core.errors import Fault, PanelError
from panel.core.kinds import outlook_of
from panel.core.message import say
from panel.core.methods import method_named
from panel.core.names import Helpers, Information, Paper, SittingKind, Standing
from panel.core.plan import Plan, Serving
from panel.core.plan_document import mark_of
from panel.core.planning import Outlook
from panel.core.quantities import Quantities, quantities
from panel.core.recommendation import asked_with
from panel.core.turnout import only_repeats, with_planned_tasters
from panel.services.record import record
from panel.services.workplace import Actor, Workplace, new_id, new_slug
from panel.store import comparisons as comparisons_store
from panel.store import invitations
from panel.store import sittings as sittings_store


@dataclass(frozen=True, kw_only=True)
class Draft:
    """What an organiser may write and change before sealing."""

    title: str
    neutral_title: str
    variable: str
    beers: tuple[Beer, ...]
    plan: Plan
    serving: Serving = field(default_factory=Serving)
    drink: str = "beer"
    organised_by: str = ""
    helpers: Helpers = Helpers.TWO
    duties: Duties = field(default_factory=Duties)


@dataclass(frozen=True, kw_only=True)
class SittingDraft:
    """What an organiser writes of one sitting. `starts` is UTC."""

    name: str
    planned: int
    starts: datetime
    zone: str
    kind: SittingKind = SittingKind.TABLE
    information: Information = Information.BLINDED
    place: str = ""
    told: str = ""
    language: str = "en"
    paper: Paper = Paper.A4
    groups_drawn: bool = False


@dataclass(frozen=True)
class Forecast:
    """What a draft would need and could show."""

    outlook: Outlook
    quantities: Quantities


def every(at: Workplace, actor: Actor) -> tuple[Comparison, ...]:
    """All comparisons, newest first."""
    _organisers_only(actor)
    with at.units.read() as session:
        return tuple(map(_as_planned, comparisons_store.every(session)))


def comparison(at: Workplace, actor: Actor, comparison_id: str) -> Comparison:
    """One comparison with all that its organiser knows of it."""
    _organisers_only(actor)
    with at.units.read() as session:
        return existing(session, comparison_id)


def forecast(at: Workplace, actor: Actor, comparison_id: str) -> Forecast:
    """Tasters, power, beer, cups and alcohol for a comparison as it stands."""
    known = comparison(at, actor, comparison_id)
    return Forecast(outlook_of(known.plan, one_taster=only_repeats(known)), quantities(known))


def start_draft(
    at: Workplace, actor: Actor, draft: Draft, sitting: SittingDraft | None = None
) -> Comparison:
    """A new comparison, with its first sitting if there is one; RefusalsError where something
    typed cannot be right."""
    _organisers_only(actor)
    now = at.now()
    fresh = _with_draft(
        Comparison(
            id=new_id(at),
            slug=new_slug(at),
            title=draft.title,
            neutral_title=draft.neutral_title,
            variable=draft.variable,
            beers=draft.beers,
            plan=draft.plan,
            serving=draft.serving,
            created=now,
        ),
        draft,
    )
    first = None if sitting is None else sitting_from(at, sitting)
    check_draft(fresh, first)
    whole = fresh if first is None else replace(fresh, sittings=(first,))
    with at.units.begin() as session:
        comparisons_store.add(session, whole)
        record(session, at, actor, whole.id, Deed.STARTED)
        for added in whole.sittings:
            record(session, at, actor, whole.id, Deed.SITTING_ADDED, added.id)
    return whole


def save_draft(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    draft: Draft,
    sitting: SittingDraft | None = None,
    seen: str = "",
) -> Comparison:
    """The comparison with what was changed; nothing is written where something cannot be right.

    sitting: what its first sitting becomes; one is added where there is none. seen:
    `plan_document.mark_of` the draft that was on the page; PanelError (fault CLASH) if somebody
    else has changed it since.
    """
    _organisers_only(actor)
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("edit", known.standing)
        require_seen(known, seen)
        changed = _with_draft(known, draft)
        if sitting is None:
            check_draft(changed)
        else:
            changed = _with_first(session, at, actor, changed, sitting)
        comparisons_store.save(session, changed)
        record(session, at, actor, comparison_id, Deed.PLAN_SAVED)
    return changed


def change_method(
    at: Workplace, actor: Actor, comparison_id: str, method: str, seen: str = ""
) -> Comparison:
    """The draft with another test for the same question; `seen` as in `save_draft`."""
    _organisers_only(actor)
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("edit", known.standing)
        require_seen(known, seen)
        changed = replace(known, plan=asked_with(known.plan, method_named(method)))
        check_draft(changed)
        comparisons_store.save(session, changed)
        record(session, at, actor, comparison_id, Deed.PLAN_SAVED)
    return changed


def add_sitting(at: Workplace, actor: Actor, comparison_id: str, draft: SittingDraft) -> Sitting:
    """One more sitting of a comparison that is not sealed yet."""
    _organisers_only(actor)
    sitting = sitting_from(at, draft)
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("edit", known.standing)
        check_sitting(sitting, known)
        sittings_store.add(session, comparison_id, sitting)
        record(session, at, actor, comparison_id, Deed.SITTING_ADDED, sitting.id)
    return sitting


def save_sitting(
    at: Workplace, actor: Actor, comparison_id: str, sitting_id: str, draft: SittingDraft
) -> Sitting:
    """A sitting with what was changed."""
    _organisers_only(actor)
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("edit", known.standing)
        before = sitting_of(known, sitting_id)
        changed = replace(sitting_from(at, draft), id=before.id)
        others = replace(known, sittings=tuple(s for s in known.sittings if s.id != sitting_id))
        check_sitting(changed, others)
        sittings_store.save(session, comparison_id, changed)
        record(session, at, actor, comparison_id, Deed.SITTING_SAVED, sitting_id)
    return changed


def remove_sitting(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> None:
    """Takes a sitting out of a draft."""
    _organisers_only(actor)
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("edit", known.standing)
        sitting_of(known, sitting_id)
        if any(link.sitting == sitting_id for link in invitations.of_comparison(session, known.id)):
            raise PanelError(
                "sitting-has-links",
                say(
                    "Helpers have links to this sitting, so it stays. Change its name, date or "
                    "number instead."
                ),
                Fault.CLASH,
            )
        sittings_store.remove(session, comparison_id, sitting_id)
        record(session, at, actor, comparison_id, Deed.SITTING_REMOVED, sitting_id)


def require_seen(known: Comparison, seen: str) -> None:
    """PanelError (fault CLASH) if the draft is not the one that was on the page."""
    if seen and seen != mark_of(known):
        raise PanelError(
            "changed-meanwhile",
            say(
                "Somebody else has changed this comparison meanwhile. Nothing of yours was "
                "written: look at it again, then save or seal it."
            ),
            Fault.CLASH,
        )


def existing(session: Session, comparison_id: str) -> Comparison:
    """The comparison of that id, or PanelError (fault MISSING)."""
    found = comparisons_store.load(session, comparison_id)
    if found is None:
        raise PanelError(
            "no-such-comparison",
            say("There is no such comparison here. Go back to the list and choose one."),
            Fault.MISSING,
        )
    return _as_planned(found)


def _as_planned(found: Comparison) -> Comparison:
    """A draft's tasters are what its sittings plan for; a sealed plan names its own."""
    return with_planned_tasters(found) if found.standing is Standing.DRAFTED else found


def sitting_of(known: Comparison, sitting_id: str) -> Sitting:
    """The sitting of that id within a comparison, or PanelError (fault MISSING)."""
    for sitting in known.sittings:
        if sitting.id == sitting_id:
            return sitting
    raise PanelError(
        "no-such-sitting",
        say("This comparison has no such sitting. Go back to the comparison and choose one."),
        Fault.MISSING,
    )


def sitting_from(at: Workplace, draft: SittingDraft) -> Sitting:
    """A sitting with an id of its own; twice the planned trays will be drawn at sealing."""
    return Sitting(
        id=new_id(at),
        name=draft.name.strip(),
        kind=draft.kind,
        information=draft.information,
        planned=draft.planned,
        drawn=2 * draft.planned,
        place=draft.place.strip(),
        starts=draft.starts,
        zone=draft.zone,
        told=draft.told.strip(),
        language=draft.language,
        paper=draft.paper,
        groups_drawn=draft.groups_drawn,
    )


def _with_first(
    session: Session, at: Workplace, actor: Actor, known: Comparison, draft: SittingDraft
) -> Comparison:
    """The comparison with its first sitting changed, or added where there is none."""
    written, others = sitting_from(at, draft), known.sittings[1:]
    deed = Deed.SITTING_ADDED
    if known.sittings:
        written, deed = replace(written, id=known.sittings[0].id), Deed.SITTING_SAVED
    check_draft(replace(known, sittings=others), written)
    keep = sittings_store.save if known.sittings else sittings_store.add
    keep(session, known.id, written)
    record(session, at, actor, known.id, deed, written.id)
    return replace(known, sittings=(written, *others))


def _with_draft(known: Comparison, draft: Draft) -> Comparison:
    blinding, _why = blinding_of(draft.helpers, draft.duties)
    return replace(
        known,
        title=draft.title.strip(),
        neutral_title=draft.neutral_title.strip(),
        variable=draft.variable.strip(),
        beers=tuple(
            replace(beer, name=beer.name.strip(), value=beer.value.strip()) for beer in draft.beers
        ),
        plan=draft.plan,
        serving=draft.serving,
        drink=draft.drink.strip() or "beer",
        organised_by=draft.organised_by.strip(),
        helpers=draft.helpers,
        duties=draft.duties,
        blinding=blinding,
    )


def _organisers_only(actor: Actor) -> None:
    actor.require_organiser()
