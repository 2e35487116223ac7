"""Questions about open doors: sign-ins of people and passes of invitations."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, delete, or_, select, update
from sqlalchemy.orm import Session

from panel.core.names import Role
from panel.store.tables_people import InvitationRow, PersonRow, SigninRow


@dataclass(frozen=True, kw_only=True)
class Signin:
    """One door: whose it is, what it opens, until when. Exactly one of `person` and `invitation`
    is an id. Only the SHA-256 (hex) of the token is known here."""

    id: str
    token_hash: str
    role: Role
    person: str | None = None
    invitation: str | None = None
    created: datetime
    last_seen: datetime
    expires: datetime
    revoked: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Door:
    """A sign-in with what surrounds it: the person's name, or where the invitation leads."""

    signin: Signin
    name: str
    disabled: bool
    comparison: str | None
    sitting: str | None


def add(session: Session, signin: Signin) -> None:
    """Open a door."""
    session.add(
        SigninRow(
            id=signin.id,
            token_hash=signin.token_hash,
            person=signin.person,
            invitation=signin.invitation,
            role=signin.role,
            created=signin.created,
            last_seen=signin.last_seen,
            expires=signin.expires,
            revoked=signin.revoked,
        )
    )
    session.flush()


def by_token_hash(session: Session, token_hash: str) -> Door | None:
    """The door that the token of that SHA-256 (hex) opens, expired and revoked ones too."""
    question = (
        select(SigninRow, PersonRow, InvitationRow)
        .outerjoin(PersonRow, PersonRow.id == SigninRow.person)
        .outerjoin(InvitationRow, InvitationRow.id == SigninRow.invitation)
        .where(SigninRow.token_hash == token_hash)
    )
    found = session.execute(question).first()
    if found is None:
        return None
    row, person, invitation = found
    return Door(
        signin=_signin(row),
        name=person.name if person else "",
        disabled=bool(person and person.disabled),
        comparison=invitation.comparison if invitation else None,
        sitting=invitation.sitting if invitation else None,
    )


def touch(session: Session, signin_id: str, at: datetime) -> None:
    """Note that the door was used."""
    session.get_one(SigninRow, signin_id).last_seen = at
    session.flush()


def revoke(session: Session, signin_id: str, at: datetime) -> None:
    """Shut one door."""
    _shut(session, at, SigninRow.id == signin_id)


def revoke_of_person(
    session: Session, person_id: str, at: datetime, but: str | None = None
) -> None:
    """Shut every door of a person, save the one of that id."""
    _shut(session, at, SigninRow.person == person_id, SigninRow.id != (but or ""))


def revoke_of_invitation(session: Session, invitation_id: str, at: datetime) -> None:
    """Shut every door that an invitation opened."""
    _shut(session, at, SigninRow.invitation == invitation_id)


def revoke_all(session: Session, at: datetime) -> None:
    """Shut every door there is."""
    _shut(session, at)


def clear(session: Session, before: datetime) -> None:
    """Forget doors that were shut, or expired, before a moment."""
    session.execute(
        delete(SigninRow).where(or_(SigninRow.expires < before, SigninRow.revoked < before))
    )


def _shut(session: Session, at: datetime, *which: ColumnElement[bool]) -> None:
    session.execute(update(SigninRow).where(SigninRow.revoked.is_(None), *which).values(revoked=at))


def _signin(row: SigninRow) -> Signin:
    return Signin(
        id=row.id,
        token_hash=row.token_hash,
        role=row.role,
        person=row.person,
        invitation=row.invitation,
        created=row.created,
        last_seen=row.last_seen,
        expires=row.expires,
        revoked=row.revoked,
    )
