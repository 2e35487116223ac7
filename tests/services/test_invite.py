"""Invitations: one link, one phone, one role, one evening."""

import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.names import Role
from panel.services import invite, open_sitting, sign_in
from panel.services.workplace import Actor, Workplace
from panel.store import records
from tests.builders import ORGANISER, START, sealed, serving, workplace

NEXT_MORNING = datetime(2027, 3, 15, 4, tzinfo=UTC)
"""The end of the day of builders.START, 14 March 2027 in London, still on winter time."""


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path) as opened:
        yield opened


@pytest.fixture
def either(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    """On both databases, for what several do at once and for the whole way once."""
    with workplace(database_url, tmp_path) as opened:
        yield opened


@pytest.fixture
def place(at) -> tuple[str, str]:
    """Comparison and sitting of an evening to come."""
    return evening(at)


def evening(at: Workplace) -> tuple[str, str]:
    known = sealed(at)
    return known.id, known.sittings[0].id


def test_a_link_opens_a_pass_for_that_role_and_sitting(either):
    at, place = either, evening(either)
    for role in (Role.STEWARD, Role.POURER):
        token = invite.invite(at, ORGANISER, *place, role)
        who = sign_in.person_of(at, invite.accept(at, token))
        assert (who.role, who.comparison, who.sitting, who.name) == (role, *place, "")
        assert who.person in {one.id for one in invite.invited(at, ORGANISER, place[0])}


def test_link_and_pass_are_of_256_bits_and_kept_as_hashes_only(at, place):
    link = invite.invite(at, ORGANISER, *place, Role.STEWARD)
    opened = invite.accept(at, link)
    assert len(link) == len(opened) == 52
    with at.units.read() as session:
        whole = repr(
            [session.execute(text(f"SELECT * FROM {t}")).all() for t in ("invitation", "signin")]
        )
    assert link not in whole
    assert opened not in whole


def test_a_link_works_once(at, place):
    token = invite.invite(at, ORGANISER, *place, Role.STEWARD)
    invite.accept(at, token)
    for spent in (token, "nonsense", ""):
        with pytest.raises(PanelError, match="does not work any more") as refusal:
            invite.accept(at, spent)
        assert refusal.value.fault is Fault.MISSING


def test_of_two_phones_at_once_one_gets_in(either):
    token = invite.invite(either, ORGANISER, *evening(either), Role.STEWARD)
    outcomes = []

    def take():
        try:
            outcomes.append(invite.accept(either, token))
        except PanelError as refusal:
            outcomes.append(refusal.code)

    both = [threading.Thread(target=take) for _ in range(4)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert outcomes.count("invitation-spent") == 3


def test_a_link_for_the_first_person_opens_no_pass_and_the_other_way_round(at, place):
    with pytest.raises(PanelError, match="does not work any more"):
        invite.accept(at, sign_in.first_link(at))
    link = invite.invite(at, ORGANISER, *place, Role.STEWARD)
    with pytest.raises(PanelError, match="does not work any more"):
        sign_in.set_up(at, link, "Ada", "four small copper kettles")


def test_a_link_lasts_a_day_and_not_beyond_the_sittings_day(at, place):
    invite.invite(at, ORGANISER, *place, Role.STEWARD)
    (evening,) = invite.invited(at, ORGANISER, place[0])
    assert evening.expires == NEXT_MORNING
    at.now.forward(days=-3)
    early = invite.invite(at, ORGANISER, *place, Role.STEWARD)
    assert invite.invited(at, ORGANISER, place[0])[-1].expires == at.now() + timedelta(hours=24)
    at.now.forward(hours=24)
    with pytest.raises(PanelError, match="within a day"):
        invite.accept(at, early)


def test_a_pass_lasts_until_the_sittings_day_ends_used_or_not(at, place):
    token = invite.accept(at, invite.invite(at, ORGANISER, *place, Role.STEWARD))
    at.now.moment = NEXT_MORNING - timedelta(seconds=1)
    assert sign_in.person_of(at, token) is not None
    at.now.moment = NEXT_MORNING
    assert sign_in.person_of(at, token) is None


def test_a_sitting_that_goes_on_after_its_day_gives_passes_of_a_day(at, place):
    at.now.moment = NEXT_MORNING + timedelta(days=5)
    token = invite.accept(at, invite.invite(at, ORGANISER, *place, Role.STEWARD))
    at.now.forward(hours=23, minutes=59)
    assert sign_in.person_of(at, token) is not None
    at.now.forward(minutes=1)
    assert sign_in.person_of(at, token) is None


@pytest.mark.parametrize(
    ("zone", "ends"),
    [
        ("Europe/London", datetime(2027, 3, 15, 4, tzinfo=UTC)),
        (
            "America/Los_Angeles",
            datetime(2027, 3, 15, 11, tzinfo=UTC),
        ),  # summer time began that day
        ("Pacific/Auckland", datetime(2027, 3, 15, 15, tzinfo=UTC)),  # the 15th there already
    ],
)
def test_the_day_is_the_sittings_own(at, zone, ends):
    known = sealed(at, zone=zone)
    assert known.sittings[0].starts == START
    assert invite.pass_ends(known.sittings[0], at.now()) == ends


def test_a_closed_sitting_invites_nobody_and_lets_nobody_in(at):
    known = serving(at)
    sitting = known.sittings[0].id
    token = invite.invite(at, ORGANISER, known.id, sitting, Role.STEWARD)
    open_sitting.close_sitting(at, ORGANISER, known.id, sitting)
    with pytest.raises(PanelError, match="closed"):
        invite.invite(at, ORGANISER, known.id, sitting, Role.STEWARD)
    with pytest.raises(PanelError, match="closed"):
        invite.accept(at, token)


def test_a_revoked_link_ends_its_pass_too(at, place):
    kept = invite.accept(at, invite.invite(at, ORGANISER, *place, Role.STEWARD))
    gone = invite.accept(at, invite.invite(at, ORGANISER, *place, Role.POURER))
    unused = invite.invite(at, ORGANISER, *place, Role.KEY_HOLDER)
    for link in invite.invited(at, ORGANISER, place[0]):
        if link.role is not Role.STEWARD:
            invite.revoke(at, ORGANISER, place[0], link.id)
            invite.revoke(at, ORGANISER, place[0], link.id)
    assert sign_in.person_of(at, kept) is not None
    assert sign_in.person_of(at, gone) is None
    with pytest.raises(PanelError, match="does not work any more"):
        invite.accept(at, unused)
    with pytest.raises(PanelError, match="no such link"):
        invite.revoke(at, ORGANISER, "another", link.id)


@pytest.mark.parametrize("role", [Role.ORGANISER, Role.TASTER, Role.MEMBER])
def test_nobody_is_invited_as_what_needs_no_link_or_more(at, place, role):
    with pytest.raises(PanelError) as refusal:
        invite.invite(at, ORGANISER, *place, role)
    assert refusal.value.field == "role"


def test_only_organisers_invite_revoke_and_look(at, place):
    steward = Actor(Role.STEWARD, "pass", *place)
    for deed in (
        lambda: invite.invite(at, steward, *place, Role.STEWARD),
        lambda: invite.revoke(at, steward, place[0], "link"),
        lambda: invite.invited(at, steward, place[0]),
    ):
        with pytest.raises(PanelError) as refusal:
            deed()
        assert refusal.value.fault is Fault.FORBIDDEN


def test_a_sitting_that_is_not_there_invites_nobody(at, place):
    with pytest.raises(PanelError) as refusal:
        invite.invite(at, ORGANISER, place[0], "nowhere", Role.STEWARD)
    assert refusal.value.fault is Fault.MISSING


def test_the_record_tells_who_was_let_in_by_the_links_id(at, place):
    token = invite.invite(at, ORGANISER, *place, Role.STEWARD)
    who = sign_in.person_of(at, invite.accept(at, token))
    invite.revoke(at, ORGANISER, place[0], who.person)
    with at.units.read() as session:
        assert records.verify(session, place[0]) is None
        lines = list(records.of_chain(session, place[0]))[-3:]
    assert [(line.what, line.subject) for line in lines] == [
        (Deed.INVITED, who.person),
        (Deed.INVITATION_ACCEPTED, who.person),
        (Deed.INVITATION_REVOKED, who.person),
    ]
    assert [(line.role, line.who) for line in lines] == [
        (Role.ORGANISER, ORGANISER.person),
        (Role.STEWARD, who.person),
        (Role.ORGANISER, ORGANISER.person),
    ]
