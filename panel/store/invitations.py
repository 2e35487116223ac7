"""Questions about links that work once."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from panel.core.names import Role
from panel.store.tables_people import InvitationRow


@dataclass(frozen=True, kw_only=True)
class Invitation:
    """A link: for which role in which sitting, until when, and whether it was used. One without a
    comparison sets up the first person. Only the SHA-256 (hex) of its token is known here. `person`
    is the key holder who took it up."""

    id: str
    token_hash: str
    role: Role
    comparison: str | None = None
    sitting: str | None = None
    made: datetime
    expires: datetime
    used: datetime | None = None
    revoked: datetime | None = None
    person: str | None = None


def add(session: Session, invitation: Invitation) -> None:
    """Keep a new link."""
    session.add(
        InvitationRow(
            id=invitation.id,
            token_hash=invitation.token_hash,
            role=invitation.role,
            comparison=invitation.comparison,
            sitting=invitation.sitting,
            made=invitation.made,
            expires=invitation.expires,
            used=invitation.used,
            revoked=invitation.revoked,
        )
    )
    session.flush()


def load(session: Session, invitation_id: str) -> Invitation | None:
    """The link of that id."""
    row = session.get(InvitationRow, invitation_id)
    return None if row is None else _invitation(row)


def by_token_hash(session: Session, token_hash: str) -> Invitation | None:
    """The link whose token has that SHA-256 (hex), used, expired and revoked ones too."""
    question = select(InvitationRow).where(InvitationRow.token_hash == token_hash)
    row = session.scalars(question).first()
    return None if row is None else _invitation(row)


def of_comparison(session: Session, comparison_id: str) -> tuple[Invitation, ...]:
    """A comparison's links, newest first."""
    question = select(InvitationRow).where(InvitationRow.comparison == comparison_id)
    rows = session.scalars(question.order_by(InvitationRow.made.desc(), InvitationRow.id))
    return tuple(_invitation(row) for row in rows)


def use(session: Session, invitation_id: str, at: datetime) -> None:
    """Note that the link was used."""
    session.get_one(InvitationRow, invitation_id).used = at
    session.flush()


def take_up(session: Session, invitation_id: str, person_id: str, at: datetime) -> None:
    """Note which key holder used the link."""
    row = session.get_one(InvitationRow, invitation_id)
    row.used, row.person = at, person_id
    session.flush()


def of_person(session: Session, person_id: str) -> tuple[Invitation, ...]:
    """The links that a key holder has taken up and that hold, newest first."""
    question = select(InvitationRow).where(
        InvitationRow.person == person_id, InvitationRow.revoked.is_(None)
    )
    rows = session.scalars(question.order_by(InvitationRow.made.desc(), InvitationRow.id))
    return tuple(_invitation(row) for row in rows)


def revoke(session: Session, invitation_id: str, at: datetime) -> None:
    """Let the link open nothing any more."""
    session.get_one(InvitationRow, invitation_id).revoked = at
    session.flush()


def revoke_unused(session: Session, at: datetime) -> None:
    """Let no link work any more that has not been used. What a used one gave stays: a key holder
    keeps the key."""
    session.execute(
        update(InvitationRow)
        .where(InvitationRow.used.is_(None), InvitationRow.revoked.is_(None))
        .values(revoked=at)
    )


def revoke_set_up_links(session: Session, at: datetime) -> None:
    """Let no earlier link to set up the first person work any more."""
    session.execute(
        update(InvitationRow)
        .where(InvitationRow.comparison.is_(None), InvitationRow.revoked.is_(None))
        .values(revoked=at)
    )


def _invitation(row: InvitationRow) -> Invitation:
    return Invitation(
        id=row.id,
        token_hash=row.token_hash,
        role=row.role,
        comparison=row.comparison,
        sitting=row.sitting,
        made=row.made,
        expires=row.expires,
        used=row.used,
        revoked=row.revoked,
        person=row.person,
    )
