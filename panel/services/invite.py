"""Inviting those who pour and carry: a link that works once opens a pass; and those who keep the
key, whose link opens an account instead (services.keep_key).

A pass needs no password, is good for one role in one sitting, and ends with the sitting's day.
"""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from panel.core.comparison import Sitting
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role, SittingStanding
from panel.core.paper.payload import token_hash
from panel.services.plan_comparison import existing, sitting_of
from panel.services.record import record
from panel.services.workplace import Actor, Workplace, new_id, new_token
from panel.store import invitations, signins
from panel.store.invitations import Invitation
from panel.store.session import Session
from panel.store.signins import Signin

PASSES = (Role.POURER, Role.STEWARD)
INVITED = (*PASSES, Role.KEY_HOLDER)
LINK_LASTS = timedelta(hours=24)
DAY_ENDS = time(4)
"""An evening's day ends at four in the morning, local time."""


@dataclass(frozen=True, kw_only=True)
class Invited:
    """A link as its organiser sees it: never the token, which is shown once."""

    id: str
    role: Role
    sitting: str
    made: datetime
    expires: datetime
    used: datetime | None
    revoked: datetime | None


def invite(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str, role: Role) -> str:
    """The token of a link for one pourer, steward or key holder of a sitting.

    It works once, within a day and until the sitting's day ends.
    """
    actor.require_organiser()
    if role not in INVITED:
        raise PanelError(
            "role-not-invited",
            say("Links are for pourers, stewards and key holders. Choose one of these."),
            field="role",
        )
    token = new_token(at)
    with at.units.begin() as session:
        sitting = _open_sitting(session, comparison_id, sitting_id)
        now = at.now()
        link = Invitation(
            id=new_id(at),
            token_hash=token_hash(token),
            role=role,
            comparison=comparison_id,
            sitting=sitting_id,
            made=now,
            expires=min(now + LINK_LASTS, pass_ends(sitting, now)),
        )
        invitations.add(session, link)
        record(
            session, at, actor, comparison_id, Deed.INVITED, link.id,
            role=str(role), sitting=sitting_id,
        )  # fmt: skip
    return token


def accept(at: Workplace, token: str) -> str:
    """The sign-in token of the pass that a link opens; the link is spent."""
    fresh = new_token(at)
    with at.units.begin() as session:
        now = at.now()
        link = invitations.by_token_hash(session, token_hash(token))
        link = fresh_link(link, now)
        if link.role not in PASSES:
            raise _spent()
        comparison_id, sitting_id = str(link.comparison), str(link.sitting)
        sitting = _open_sitting(session, comparison_id, sitting_id)
        invitations.use(session, link.id, now)
        signins.add(
            session,
            Signin(
                id=new_id(at),
                token_hash=token_hash(fresh),
                role=link.role,
                invitation=link.id,
                created=now,
                last_seen=now,
                expires=pass_ends(sitting, now),
            ),
        )
        holder = Actor(link.role, link.id, comparison_id, sitting_id)
        record(session, at, holder, comparison_id, Deed.INVITATION_ACCEPTED, link.id)
    return fresh


def role_of(at: Workplace, token: str) -> Role | None:
    """Whom a link is for; None if it does not work (any more). Looking spends nothing."""
    with at.units.read() as session:
        link = invitations.by_token_hash(session, token_hash(token))
    try:
        return fresh_link(link, at.now()).role
    except PanelError:
        return None


def fresh_link(link: Invitation | None, now: datetime) -> Invitation:
    """The link of a helper that can still be used, or PanelError (fault MISSING)."""
    leads = link is not None and link.comparison is not None and link.sitting is not None
    if link is None or not leads or link.used or link.revoked or link.expires <= now:
        raise _spent()
    return link


def _spent() -> PanelError:
    return PanelError(
        "invitation-spent",
        say(
            "This link does not work any more: it can be used once, on one phone, within "
            "a day. Ask the organiser for a new one."
        ),
        Fault.MISSING,
    )


def revoke(at: Workplace, actor: Actor, comparison_id: str, invitation_id: str) -> None:
    """Lets a link, and the pass that it opened, work no more."""
    actor.require_organiser()
    with at.units.begin() as session:
        link = invitations.load(session, invitation_id)
        if link is None or link.comparison != comparison_id:
            raise PanelError(
                "no-such-invitation",
                say("There is no such link in this comparison. Look at the list again."),
                Fault.MISSING,
            )
        if link.revoked is not None:
            return
        invitations.revoke(session, link.id, at.now())
        signins.revoke_of_invitation(session, link.id, at.now())
        record(session, at, actor, comparison_id, Deed.INVITATION_REVOKED, link.id)


def invited(at: Workplace, actor: Actor, comparison_id: str) -> tuple[Invited, ...]:
    """Every link of a comparison, newest first."""
    actor.require_organiser()
    with at.units.read() as session:
        links = invitations.of_comparison(session, comparison_id)
    return tuple(
        Invited(
            id=link.id,
            role=link.role,
            sitting=link.sitting or "",
            made=link.made,
            expires=link.expires,
            used=link.used,
            revoked=link.revoked,
        )
        for link in links
    )


def pass_ends(sitting: Sitting, now: datetime) -> datetime:
    """When a pass made now ends: with the sitting's day, in its own zone. A sitting that goes on
    after its day (parcels, repeat trials) gives passes of a day each."""
    zone = ZoneInfo(sitting.zone)
    next_day = sitting.starts.astimezone(zone).date() + timedelta(days=1)
    ends = datetime.combine(next_day, DAY_ENDS, zone).astimezone(now.tzinfo)
    return ends if now < ends else now + LINK_LASTS


def _open_sitting(session: Session, comparison_id: str, sitting_id: str) -> Sitting:
    sitting = sitting_of(existing(session, comparison_id), sitting_id)
    if sitting.standing is SittingStanding.CLOSED:
        raise PanelError(
            "sitting-over",
            say("This sitting is closed: nobody needs a link for it any more."),
            Fault.STANDING,
        )
    return sitting
