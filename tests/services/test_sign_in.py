"""Signing in: once-only links, back-off, ends by the clock, and nothing kept in clear.

Figures: OWASP Application Security Verification Standard 5.0.0, 6.3 to 7.4.
"""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from panel.core.errors import Fault, PanelError, RefusalsError
from panel.core.message import Moment
from panel.core.names import Role
from panel.core.record import INSTANCE
from panel.services import passwords, sign_in
from panel.services.workplace import Workplace
from panel.store import people, records
from tests.builders import workplace

NAME = "Ada Brewer"
WORD = "four small copper kettles"


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path) as opened:
        yield opened


@pytest.fixture
def either(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    """On both databases, for what many do at once and for the whole way once."""
    with workplace(database_url, tmp_path) as opened:
        yield opened


@pytest.fixture
def organiser(at) -> str:
    """The sign-in token of the first organiser."""
    return sign_in.set_up(at, sign_in.first_link(at), NAME, WORD)


def deeds(at, chain=INSTANCE):
    with at.units.read() as session:
        assert records.verify(session, chain) is None
        return [line.what for line in records.of_chain(session, chain)]


# --- the first person ---------------------------------------------------------------------------


def test_the_first_link_makes_an_organiser_who_is_signed_in(either):
    at = either
    token = sign_in.first_link(at)
    assert len(token) == 52  # 256 bits in base 32
    who = sign_in.person_of(at, sign_in.set_up(at, token, "  Ada   Brewer ", WORD))
    assert (who.role, who.name, who.comparison) == (Role.ORGANISER, NAME, None)
    assert sign_in.first_link(at) is None
    assert deeds(at) == ["invited", "set-up"]


def test_a_first_link_is_made_anew_and_the_old_one_ends(at):
    old, new = sign_in.first_link(at), sign_in.first_link(at)
    with pytest.raises(PanelError, match="does not work any more"):
        sign_in.set_up(at, old, NAME, WORD)
    assert sign_in.set_up(at, new, NAME, WORD)


def test_a_link_works_once_and_for_a_day(at, organiser):
    used = sign_in.set_up_link(at)
    sign_in.set_up(at, used, "Second", WORD)
    late = sign_in.set_up_link(at)
    at.now.forward(hours=24)
    for token in (used, late, "nonsense", ""):
        with pytest.raises(PanelError) as refusal:
            sign_in.set_up(at, token, "Third", WORD)
        assert refusal.value.fault is Fault.MISSING


def test_of_two_who_use_a_link_at_once_one_gets_in(either):
    token = sign_in.first_link(either)
    outcomes = []

    def take(name):
        try:
            sign_in.set_up(either, token, name, WORD)
            outcomes.append("in")
        except PanelError:
            outcomes.append("refused")

    both = [threading.Thread(target=take, args=(name,)) for name in ("Ada", "Bea")]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert sorted(outcomes) == ["in", "refused"]


def test_what_was_typed_wrong_is_told_beside_each_field_and_the_link_lives(at):
    token = sign_in.first_link(at)
    with pytest.raises(RefusalsError) as refusal:
        sign_in.set_up(at, token, "  ", "short")
    assert [one.field for one in refusal.value.refusals] == ["name", "password"]
    with pytest.raises(RefusalsError):
        sign_in.set_up(at, token, "x" * 61, WORD)
    assert sign_in.set_up(at, token, NAME, WORD)


def test_a_link_from_the_machine_gives_a_new_password_and_ends_what_was_open(at, organiser):
    other = "six tall wooden barrels"
    fresh = sign_in.set_up(at, sign_in.set_up_link(at), "ADA BREWER", other)
    assert sign_in.person_of(at, organiser) is None
    assert sign_in.person_of(at, fresh).name == NAME
    assert sign_in.sign_in(at, NAME, other)
    with pytest.raises(PanelError):
        sign_in.sign_in(at, NAME, WORD)


# --- name and password --------------------------------------------------------------------------


def test_name_and_password_open_a_door_of_their_own(at, organiser):
    tokens = {organiser, sign_in.sign_in(at, NAME, WORD), sign_in.sign_in(at, "ada brewer ", WORD)}
    assert len(tokens) == 3
    people = {sign_in.person_of(at, token).person for token in tokens}
    assert len(people) == 1
    assert deeds(at).count("signed-in") == 2


def test_wrong_name_and_wrong_password_are_told_alike(at, organiser):
    told = set()
    for name, word in ((NAME, "another word"), ("Nobody", WORD), ("", "")):
        with pytest.raises(PanelError) as refusal:
            sign_in.sign_in(at, name, word)
        assert refusal.value.fault is Fault.FORBIDDEN
        told.add((str(refusal.value), refusal.value.code, refusal.value.field))
    assert len(told) == 1
    assert deeds(at).count("sign-in-refused") == 1  # only names that somebody has


def test_known_and_unknown_names_cost_one_hash_each(at, organiser, monkeypatch):
    checked = []
    real = passwords.check_password_hash
    monkeypatch.setattr(
        passwords,
        "check_password_hash",
        lambda kept, word: checked.append(kept.split("$")[0]) or real(kept, word),
    )
    for name in (NAME, "Nobody"):
        with pytest.raises(PanelError):
            sign_in.sign_in(at, name, "another word")
    assert checked == [passwords.METHOD, passwords.METHOD]


@pytest.mark.parametrize("name", [NAME, "Nobody"])
def test_five_failures_make_the_sixth_wait_whoever_it_is(at, organiser, name):
    for _turn in range(5):
        with pytest.raises(PanelError, match="do not belong together"):
            sign_in.sign_in(at, name, "another word")
        at.now.forward(minutes=1)
    with pytest.raises(PanelError, match="too many tries") as refusal:
        sign_in.sign_in(at, name, WORD)
    (_, until), *_ = refusal.value.message.parameters
    assert isinstance(until, Moment)
    assert (until.utc - at.now()).total_seconds() == 600  # the first failure, 15 minutes on
    at.now.forward(minutes=10, seconds=1)
    if name == NAME:
        assert sign_in.sign_in(at, name, WORD)
    else:
        with pytest.raises(PanelError, match="do not belong together"):
            sign_in.sign_in(at, name, WORD)


def test_the_right_password_forgives_what_failed_before(at, organiser):
    for _round in range(3):
        for _turn in range(4):
            with pytest.raises(PanelError, match="do not belong together"):
                sign_in.sign_in(at, NAME, "another word")
        assert sign_in.sign_in(at, NAME, WORD)


def test_tries_that_come_at_once_are_counted_all_the_same(either):
    sign_in.set_up(either, sign_in.first_link(either), NAME, WORD)
    told = []

    def guess():
        try:
            sign_in.sign_in(either, NAME, "another word")
        except PanelError as refusal:
            told.append(refusal.code)

    many = [threading.Thread(target=guess) for _ in range(12)]
    for one in many:
        one.start()
    for one in many:
        one.join()
    assert (told.count("sign-in-refused"), told.count("too-many-tries")) == (5, 7)


def test_one_hash_is_computed_at_a_time(at, organiser, monkeypatch):
    """N = 2^17 takes 128 MiB each: a dozen at once would fill a small machine."""
    inside, most = [], []
    real = passwords.check_password_hash

    def watched(kept, word):
        inside.append(1)
        most.append(len(inside))
        answer = real(kept, word)
        inside.pop()
        return answer

    monkeypatch.setattr(passwords, "check_password_hash", watched)
    many = [threading.Thread(target=sign_in.sign_in, args=(at, NAME, WORD)) for _ in range(5)]
    for one in many:
        one.start()
    for one in many:
        one.join()
    assert most == [1, 1, 1, 1, 1]


# --- who stands behind a token ------------------------------------------------------------------


def test_a_sign_in_ends_after_an_hour_without_use(at, organiser):
    at.now.forward(minutes=59)
    assert sign_in.person_of(at, organiser) is not None
    at.now.forward(minutes=59)
    assert sign_in.person_of(at, organiser) is not None
    at.now.forward(minutes=60)
    assert sign_in.person_of(at, organiser) is None


def test_a_sign_in_ends_after_twelve_hours_however_busy(at, organiser):
    for _turn in range(23):
        at.now.forward(minutes=30)
        assert sign_in.person_of(at, organiser) is not None
    at.now.forward(minutes=29, seconds=59)
    assert sign_in.person_of(at, organiser) is not None
    at.now.forward(seconds=1)
    assert sign_in.person_of(at, organiser) is None


def test_reading_twice_writes_nothing(at, organiser):
    with at.units.read() as session:
        before = session.execute(text("SELECT * FROM signin")).all()
    at.now.forward(minutes=4)
    sign_in.person_of(at, organiser)
    with at.units.read() as session:
        assert session.execute(text("SELECT * FROM signin")).all() == before


def test_signing_out_ends_that_door_and_no_other(at, organiser):
    other = sign_in.sign_in(at, NAME, WORD)
    sign_in.sign_out(at, organiser)
    sign_in.sign_out(at, organiser)
    sign_in.sign_out(at, "nonsense")
    assert sign_in.person_of(at, organiser) is None
    assert sign_in.person_of(at, other) is not None
    assert deeds(at).count("signed-out") == 1


@pytest.mark.parametrize(
    "token", ["", "nonsense", "ä" * 52, "x" * 100_000], ids=["none", "word", "no base 32", "long"]
)
def test_what_is_no_token_opens_nothing(at, organiser, token):
    assert sign_in.person_of(at, token) is None


def test_somebody_who_is_shut_out_stays_out(at, organiser):
    who = sign_in.person_of(at, organiser).person
    with at.units.begin() as session:
        people.set_disabled(session, who, at.now())
    assert sign_in.person_of(at, organiser) is None
    with pytest.raises(PanelError, match="do not belong together"):
        sign_in.sign_in(at, NAME, WORD)
    with at.units.read() as session:
        assert [(one.name, one.disabled) for one in people.every(session)] == [(NAME, at.now())]


def test_another_password_ends_the_other_sign_ins(at, organiser):
    other, new = sign_in.sign_in(at, NAME, WORD), "six tall wooden barrels"
    actor = sign_in.person_of(at, organiser)
    with pytest.raises(PanelError) as refusal:
        sign_in.change_password(at, actor, organiser, "not this one", new)
    assert refusal.value.field == "password_now"
    with pytest.raises(PanelError, match="at least 8"):
        sign_in.change_password(at, actor, organiser, WORD, "short")
    assert sign_in.person_of(at, other) is not None
    sign_in.change_password(at, actor, organiser, WORD, new)
    assert sign_in.person_of(at, organiser) is not None
    assert sign_in.person_of(at, other) is None
    assert sign_in.sign_in(at, NAME, new)


def test_the_database_holds_no_password_token_or_mistyped_name(at):
    first = sign_in.first_link(at)
    token = sign_in.set_up(at, first, NAME, WORD)
    with pytest.raises(PanelError):
        sign_in.sign_in(at, "typed into the wrong field", "another word")
    with at.units.read() as session:
        names = ["person", "signin", "invitation", "refused_signin", "record"]
        whole = repr([session.execute(text(f"SELECT * FROM {name}")).all() for name in names])
    for secret in (first, token, WORD, "another word", "wrong field"):
        assert secret not in whole
    assert "refused_signin" not in whole
    assert NAME in whole  # the person's own row, which can be erased: see the record below
    with at.units.read() as session:
        assert "Ada" not in repr(session.execute(text("SELECT * FROM record")).all())
