"""Signing in: the first person's link, passwords, and who stands behind a cookie.

The cookie holds a token of 256 random bits and nothing else; the database holds its SHA-256. An
organiser's sign-in ends after 60 minutes without use and after 12 hours at the latest (OWASP
Application Security Verification Standard 5.0.0, 7.3.1 and 7.3.2).
"""

import hmac
from dataclasses import replace
from datetime import timedelta

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError, RefusalsError
from panel.core.message import Moment, say
from panel.core.names import Role
from panel.core.paper.payload import token_hash
from panel.core.record import INSTANCE
from panel.services import passwords
from panel.services.record import record
from panel.services.workplace import NOBODY, Actor, Workplace, new_id, new_token
from panel.store import invitations, people, signins
from panel.store.instance_key import derive
from panel.store.invitations import Invitation
from panel.store.people import Person
from panel.store.session import Session
from panel.store.signins import Door, Signin

IDLE = timedelta(minutes=60)
ABSOLUTE = timedelta(hours=12)
TOUCH_AFTER = timedelta(minutes=5)
"""Use is noted at most this often: reading a page twice writes nothing the second time."""

TRIES = 5
TRIES_WITHIN = timedelta(minutes=15)
LINK_LASTS = timedelta(hours=24)
KEPT_AFTERWARDS = timedelta(days=30)
LONGEST_NAME = 60


def first_link(at: Workplace) -> str | None:
    """The token of a link to set up the first person; None when there is somebody already.

    Made anew at each start, so that it can be shown again: an earlier one stops working.
    """
    with at.units.begin() as session:
        if people.count(session):
            return None
        return _set_up_token(session, at)


def awaits_set_up(at: Workplace) -> bool:
    """Whether nobody has set this installation up yet."""
    with at.units.read() as session:
        return people.count(session) == 0


def set_up_link(at: Workplace) -> str:
    """The same for whoever sits at the machine itself: for one more organiser, or a new password
    for one who is known by that name. Only the command line may ask for it."""
    with at.units.begin() as session:
        return _set_up_token(session, at)


def set_up(at: Workplace, token: str, name: str, password: str) -> str:
    """Makes an organiser, or gives the one of that name a new password; the sign-in token.

    The link works once. RefusalsError beside the fields that cannot be taken.
    """
    with at.units.read() as session:
        _valid_link(session, at, token)
    kept = passwords.hashed(_checked(at, name, password))
    with at.units.begin() as session:
        link = _valid_link(session, at, token)
        invitations.use(session, link.id, at.now())
        person = _organiser(session, at, name, kept)
        fresh = _open_door(session, at, person)
        record(session, at, _as_actor(person), INSTANCE, Deed.SET_UP, person.id)
    return fresh


def new_key_holder(at: Workplace, name: str, password: str) -> str:
    """Makes an account for somebody who keeps keys; the sign-in token. RefusalsError beside the
    fields that cannot be taken; PanelError (fault CLASH) if the name is taken meanwhile."""
    kept = passwords.hashed(_checked(at, name, password))
    with at.units.begin() as session:
        person = Person(
            id=new_id(at),
            name=" ".join(name.split()),
            password=kept,
            key_holder=True,
            created=at.now(),
        )
        people.add(session, person)
        fresh = _open_door(session, at, person)
        record(session, at, _as_actor(person), INSTANCE, Deed.SET_UP, person.id)
    return fresh


def sign_in(at: Workplace, name: str, password: str) -> str:
    """The token of a new sign-in; PanelError if name and password do not belong together.

    Two transactions on purpose, for the hash between them takes long and must keep nobody from
    writing: the first notes a try and refuses one too many, even if a hundred come at once; the
    second writes what came of it. An unknown name costs the same work as a known one.
    """
    account = _account(at, name)
    with at.units.begin() as session:
        _require_a_try(session, at, account)
        now = at.now()
        people.note_refusal(session, account, now, forget_before=now - TRIES_WITHIN)
        person = people.by_name(session, name)
    known = person is not None and person.disabled is None
    right = passwords.matches(person.password if person and known else passwords.UNKNOWN, password)
    with at.units.begin() as session:
        if person and known and right:
            people.forgive(session, account)
            signins.clear(session, at.now() - KEPT_AFTERWARDS)
            fresh = _open_door(session, at, person)
            record(session, at, _as_actor(person), INSTANCE, Deed.SIGNED_IN, person.id)
            return fresh
        if person:  # tries for names that nobody has would only swell the record
            record(session, at, NOBODY, INSTANCE, Deed.SIGN_IN_REFUSED, person.id)
    raise PanelError(
        "sign-in-refused",
        say("Name and password do not belong together. Check both and try again."),
        Fault.FORBIDDEN,
        field="password",
    )


def sign_out(at: Workplace, token: str) -> None:
    """Shuts the door of that token; nothing happens if it is shut already."""
    with at.units.begin() as session:
        door = signins.by_token_hash(session, token_hash(token))
        if door is None or door.signin.revoked is not None:
            return
        signins.revoke(session, door.signin.id, at.now())
        record(session, at, _behind(door), INSTANCE, Deed.SIGNED_OUT, door.signin.id)


def person_of(at: Workplace, token: str) -> Actor | None:
    """Who stands behind a sign-in token; None if it opens nothing (any more)."""
    with at.units.read() as session:
        door = signins.by_token_hash(session, token_hash(token))
    if door is None or not _open(at, door):
        return None
    if at.now() - door.signin.last_seen >= TOUCH_AFTER:
        with at.units.begin() as session:
            signins.touch(session, door.signin.id, at.now())
    return _behind(door)


def change_password(at: Workplace, actor: Actor, token: str, old: str, new: str) -> None:
    """Another password for whoever is signed in; their other sign-ins end.

    token: the sign-in that goes on. The hashes are computed between two transactions, as above.
    """
    with at.units.read() as session:
        person = people.load(session, actor.person)
    if person is None or not passwords.matches(person.password, old):
        raise PanelError(
            "old-password-wrong",
            say("The password that you have now is not this one. Type it again."),
            Fault.FORBIDDEN,
            field="password_now",
        )
    kept = passwords.hashed(passwords.check(new, person.name, at.settings.guild))
    with at.units.begin() as session:
        door = signins.by_token_hash(session, token_hash(token))
        people.set_password(session, person.id, kept)
        signins.revoke_of_person(session, person.id, at.now(), but=door.signin.id if door else None)
        record(session, at, actor, INSTANCE, Deed.PASSWORD_CHANGED, person.id)


def _set_up_token(session: Session, at: Workplace) -> str:
    token = new_token(at)
    now = at.now()
    invitations.revoke_set_up_links(session, now)
    link = Invitation(
        id=new_id(at),
        token_hash=token_hash(token),
        role=Role.ORGANISER,
        made=now,
        expires=now + LINK_LASTS,
    )
    invitations.add(session, link)
    record(session, at, NOBODY, INSTANCE, Deed.INVITED, link.id, role=str(link.role))
    return token


def _valid_link(session: Session, at: Workplace, token: str) -> Invitation:
    link = invitations.by_token_hash(session, token_hash(token))
    sets_up = link is not None and link.comparison is None
    if link is None or not sets_up or link.used or link.revoked or link.expires <= at.now():
        raise PanelError(
            "set-up-link-spent",
            say(
                "This link does not work any more: it can be used once, within a day. Start the "
                "service again, or ask for a new link on its machine."
            ),
            Fault.MISSING,
        )
    return link


def _checked(at: Workplace, name: str, password: str) -> str:
    """The password as it is hashed, or everything that is wrong with name and password."""
    refusals: list[PanelError] = []
    if not 1 <= len(people.folded(name)) <= LONGEST_NAME:
        refusals.append(
            PanelError(
                "name-length",
                say("Write the name you sign in with, at most %(most)s characters.",
                    most=LONGEST_NAME),
                field="name",
            )
        )  # fmt: skip
    form = ""
    try:
        form = passwords.check(password, name, at.settings.guild)
    except PanelError as refusal:
        refusals.append(refusal)
    if refusals:
        raise RefusalsError(tuple(refusals))
    return form


def _organiser(session: Session, at: Workplace, name: str, kept: str) -> Person:
    known = people.by_name(session, name)
    if known is not None:
        people.set_password(session, known.id, kept)
        people.set_disabled(session, known.id, None)
        people.forgive(session, _account(at, name))
        signins.revoke_of_person(session, known.id, at.now())
        return replace(known, password=kept, disabled=None)
    person = Person(
        id=new_id(at),
        name=" ".join(name.split()),
        password=kept,
        organiser=True,
        created=at.now(),
    )
    people.add(session, person)
    return person


def _open_door(session: Session, at: Workplace, person: Person) -> str:
    token = new_token(at)
    now = at.now()
    signins.add(
        session,
        Signin(
            id=new_id(at),
            token_hash=token_hash(token),
            role=Role.ORGANISER if person.organiser else Role.KEY_HOLDER,
            person=person.id,
            created=now,
            last_seen=now,
            expires=now + ABSOLUTE,
        ),
    )
    return token


def _open(at: Workplace, door: Door) -> bool:
    now = at.now()
    if door.signin.revoked is not None or door.disabled or now >= door.signin.expires:
        return False
    # A pass is for a steward with full hands: it lasts its evening, used or not.
    return door.signin.person is None or now - door.signin.last_seen < IDLE


def _behind(door: Door) -> Actor:
    who = door.signin.person or door.signin.invitation or NOBODY.person
    return Actor(door.signin.role, who, door.comparison, door.sitting, door.name)


def _as_actor(person: Person) -> Actor:
    role = Role.ORGANISER if person.organiser else Role.KEY_HOLDER
    return Actor(role, person.id, name=person.name)


def _account(at: Workplace, name: str) -> str:
    """What failed tries are counted under. Never in clear: what was typed may be a password."""
    key = derive(at.instance_key, "accounts")
    return hmac.new(key, people.folded(name).encode(), "sha256").hexdigest()


def _require_a_try(session: Session, at: Workplace, account: str) -> None:
    failed = people.refusals(session, account, at.now() - TRIES_WITHIN)
    if len(failed) < TRIES:
        return
    raise PanelError(
        "too-many-tries",
        say(
            "That were too many tries for this name. Try again after %(when)s.",
            when=Moment(failed[-TRIES] + TRIES_WITHIN, at.settings.zone),
        ),
        Fault.FORBIDDEN,
    )
