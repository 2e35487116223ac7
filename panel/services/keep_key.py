"""The key holder: a person with a sign-in of their own, who keeps the key of the comparisons whose
link they took up, prints the sheets that show it, and may close and unseal.

So the organiser can taste too: what shows the key is then the key holder's to print.
"""

from sqlalchemy.orm import Session

from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role, Standing
from panel.core.paper.payload import token_hash
from panel.services import sign_in
from panel.services.invite import fresh_link
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import comparisons as comparisons_store
from panel.store import invitations, people


def take_up(at: Workplace, token: str, name: str, password: str) -> str:
    """Spends a key holder's link: the sign-in token of its account, made now or known by name.

    RefusalsError beside the fields; PanelError "sign-in-refused" for another's name or password.
    """
    with at.units.read() as session:
        _key_holders(session, at, token)
        known = people.by_name(session, name)
    if known is not None and known.organiser:
        raise PanelError(
            "organisers-name",
            say(
                "Somebody who organises here has this name. The key is kept by another person: "
                "choose another name."
            ),
            Fault.CLASH,
            field="name",
        )
    if known is None:
        fresh = sign_in.new_key_holder(at, name, password)
    else:
        fresh = sign_in.sign_in(at, name, password)
    holder = sign_in.person_of(at, fresh)
    assert holder is not None  # signed in just now
    with at.units.begin() as session:
        link = _key_holders(session, at, token)
        invitations.take_up(session, link.id, holder.person, at.now())
        record(
            session, at, holder, str(link.comparison), Deed.INVITATION_ACCEPTED, link.id
        )  # fmt: skip
    return fresh


def kept(at: Workplace, actor: Actor) -> tuple[Comparison, ...]:
    """The sealed comparisons whose key this person keeps, newest first."""
    with at.units.read() as session:
        ids = dict.fromkeys(str(one.comparison) for one in _taken_up(session, actor))
        found = (comparisons_store.load(session, one) for one in ids)
        return tuple(one for one in found if one and one.standing is not Standing.DRAFTED)


def kept_one(at: Workplace, actor: Actor, comparison_id: str) -> Comparison:
    """One of them, or PanelError (fault FORBIDDEN)."""
    with at.units.read() as session:
        require_keeper(session, actor, comparison_id)
        found = comparisons_store.load(session, comparison_id)
    if found is None or found.standing is Standing.DRAFTED:
        raise PanelError(
            "not-sealed",
            say("This comparison is not sealed yet: there is no key to keep."),
            Fault.STANDING,
        )
    return found


def require_keeper(session: Session, actor: Actor, comparison_id: str) -> None:
    """PanelError (fault FORBIDDEN) unless this person keeps the comparison's key."""
    keeps = any(one.comparison == comparison_id for one in _taken_up(session, actor))
    if actor.role is not Role.KEY_HOLDER or not keeps:
        raise PanelError(
            "key-holders-only",
            say("Only the key holder of this comparison can do this."),
            Fault.FORBIDDEN,
        )


def require_keeper_or_organiser(session: Session, actor: Actor, comparison_id: str) -> None:
    """PanelError (fault FORBIDDEN) unless this is an organiser or the comparison's key holder."""
    if actor.role is Role.KEY_HOLDER:
        require_keeper(session, actor, comparison_id)
    else:
        actor.require_organiser()


def _taken_up(session: Session, actor: Actor) -> tuple[invitations.Invitation, ...]:
    return tuple(
        one for one in invitations.of_person(session, actor.person) if one.role is Role.KEY_HOLDER
    )


def _key_holders(session: Session, at: Workplace, token: str) -> invitations.Invitation:
    link = fresh_link(invitations.by_token_hash(session, token_hash(token)), at.now())
    if link.role is not Role.KEY_HOLDER:
        raise PanelError(
            "not-a-keepers-link", say("This link is not a key holder’s."), Fault.MISSING
        )
    return link
