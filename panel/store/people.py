"""Questions about people with a password, and about refused tries to be one of them."""

import unicodedata
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from panel.store.tables_people import PersonRow, RefusedSigninRow


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody who can sign in. `password` is werkzeug's text of an scrypt hash."""

    id: str
    name: str
    password: str
    organiser: bool = False
    key_holder: bool = False
    created: datetime
    disabled: datetime | None = None


def add(session: Session, person: Person) -> None:
    """Keep a new person; PanelError (fault CLASH) at the end if the name is taken."""
    session.add(
        PersonRow(
            id=person.id,
            name=person.name,
            folded=folded(person.name),
            password=person.password,
            organiser=person.organiser,
            key_holder=person.key_holder,
            created=person.created,
            disabled=person.disabled,
        )
    )
    session.flush()


def load(session: Session, person_id: str) -> Person | None:
    """The person of that id."""
    row = session.get(PersonRow, person_id)
    return None if row is None else _person(row)


def by_name(session: Session, name: str) -> Person | None:
    """The person of that name, however it was typed in upper and lower case."""
    row = session.scalars(select(PersonRow).where(PersonRow.folded == folded(name))).first()
    return None if row is None else _person(row)


def every(session: Session) -> tuple[Person, ...]:
    """Everybody by name."""
    return tuple(_person(row) for row in session.scalars(select(PersonRow).order_by("folded")))


def count(session: Session) -> int:
    """How many people there are, disabled ones too."""
    return session.scalar(select(func.count()).select_from(PersonRow)) or 0


def set_password(session: Session, person_id: str, password: str) -> None:
    """Write another password hash."""
    session.get_one(PersonRow, person_id).password = password
    session.flush()


def set_disabled(session: Session, person_id: str, at: datetime | None) -> None:
    """Let nobody sign in as this person any more; None lets them again."""
    session.get_one(PersonRow, person_id).disabled = at
    session.flush()


def erase(session: Session, person_id: str, at: datetime) -> None:
    """Take a person's name and password away. The row stays: records and sign-ins name its id."""
    row = session.get_one(PersonRow, person_id)
    row.name = ""
    row.folded = f"erased {person_id}"
    row.password = ""
    row.disabled = row.disabled or at
    session.flush()


def note_refusal(session: Session, account: str, at: datetime, forget_before: datetime) -> None:
    """Note a failed try for an account (a keyed hash of the typed name); older ones are forgotten,
    whoever's they were."""
    session.execute(delete(RefusedSigninRow).where(RefusedSigninRow.at < forget_before))
    session.add(RefusedSigninRow(account=account, at=at))
    session.flush()


def refusals(session: Session, account: str, since: datetime) -> tuple[datetime, ...]:
    """When tries for that account failed, from a moment on, first to last."""
    question = select(RefusedSigninRow.at).where(
        RefusedSigninRow.account == account, RefusedSigninRow.at >= since
    )
    return tuple(session.scalars(question.order_by(RefusedSigninRow.at)))


def forgive(session: Session, account: str) -> None:
    """Forget the failed tries of an account that signed in."""
    session.execute(delete(RefusedSigninRow).where(RefusedSigninRow.account == account))


def folded(name: str) -> str:
    """A name as sign-ins compare it: one Unicode form, one case, single spaces."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _person(row: PersonRow) -> Person:
    return Person(
        id=row.id,
        name=row.name,
        password=row.password,
        organiser=row.organiser,
        key_holder=row.key_holder,
        created=row.created,
        disabled=row.disabled,
    )
