"""Rows of who may do what: people with a password, sign-ins, invitations, refused sign-ins."""

from datetime import datetime

from sqlalchemy import ForeignKey, ForeignKeyConstraint
from sqlalchemy.orm import Mapped, mapped_column

from panel.core.names import Role
from panel.store.base import Base, Word


class PersonRow(Base):
    """Somebody with a password. `folded` is the name as sign-ins compare it."""

    __tablename__ = "person"

    id: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    folded: Mapped[str] = mapped_column(unique=True)
    password: Mapped[str]
    organiser: Mapped[bool]
    key_holder: Mapped[bool]
    created: Mapped[datetime]
    disabled: Mapped[datetime | None]


class InvitationRow(Base):
    """A link that works once. Without a comparison it is the link to set up the first person;
    `person` is whoever took up a link to keep a key."""

    __tablename__ = "invitation"
    __table_args__ = (
        ForeignKeyConstraint(["comparison", "sitting"], ["sitting.comparison", "sitting.id"]),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    role: Mapped[Role] = mapped_column(Word(Role))
    comparison: Mapped[str | None] = mapped_column(ForeignKey("comparison.id"), index=True)
    sitting: Mapped[str | None]
    made: Mapped[datetime]
    expires: Mapped[datetime]
    used: Mapped[datetime | None]
    revoked: Mapped[datetime | None]
    person: Mapped[str | None]


class SigninRow(Base):
    """One open door: a person's sign-in, or the pass that an invitation opened."""

    __tablename__ = "signin"

    id: Mapped[str] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    person: Mapped[str | None] = mapped_column(ForeignKey("person.id"), index=True)
    invitation: Mapped[str | None] = mapped_column(ForeignKey("invitation.id"), index=True)
    role: Mapped[Role] = mapped_column(Word(Role))
    created: Mapped[datetime]
    last_seen: Mapped[datetime]
    expires: Mapped[datetime]
    revoked: Mapped[datetime | None]


class RefusedSigninRow(Base):
    """A failed try, to slow guessing down. `account` is a keyed hash of the name that was typed:
    people type their password into the wrong field."""

    __tablename__ = "refused_signin"

    id: Mapped[int] = mapped_column(primary_key=True)
    account: Mapped[str] = mapped_column(index=True)
    at: Mapped[datetime]
