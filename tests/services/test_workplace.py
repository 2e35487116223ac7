"""The workplace: one instance key a database, ids from the given entropy, roles at the door."""

import re
from datetime import UTC, datetime

import pytest

from panel.core.errors import Fault, PanelError
from panel.core.names import Role
from panel.services.workplace import (
    NOBODY,
    Actor,
    cookie_key,
    durability_cautions,
    new_id,
    new_slug,
    new_token,
    open_workplace,
)
from panel.settings import load
from panel.store.durability import cautions
from panel.store.instance_key import FILE
from tests.builders import ORGANISER, workplace


def opened(database_url, folder, **more):
    environment = {"PANEL_DATABASE_URL": database_url, **more}
    return open_workplace(load(environment, folder))


def test_it_opens_on_an_empty_folder_and_again(database_url, tmp_path):
    first = opened(database_url, tmp_path)
    first.units.close()
    second = opened(database_url, tmp_path)
    second.units.close()
    assert second.instance_key == first.instance_key
    assert cookie_key(first) == cookie_key(second) != first.instance_key


def test_its_clock_is_utc_and_its_entropy_the_systems(sqlite_url, tmp_path):
    at = opened(sqlite_url, tmp_path)
    at.units.close()
    assert at.now().tzinfo is UTC
    assert abs((at.now() - datetime.now(UTC)).total_seconds()) < 60
    assert len(at.entropy(32)) == 32
    assert at.entropy(32) != at.entropy(32)


def test_it_tells_what_its_database_may_lose(database_url, tmp_path):
    with workplace(database_url, tmp_path) as at, at.units.read() as session:
        assert durability_cautions(at) == cautions(session)


def test_a_missing_folder_is_told_before_anything_is_made(tmp_path):
    with pytest.raises(PanelError, match="no folder") as refusal:
        open_workplace(load({}, tmp_path / "nowhere"))
    assert refusal.value.fault is Fault.PLACE
    assert not (tmp_path / "nowhere").exists()


def test_a_lost_key_is_not_replaced_in_silence(database_url, tmp_path):
    opened(database_url, tmp_path).units.close()
    lost = (tmp_path / FILE).read_text(encoding="ascii")
    (tmp_path / FILE).unlink()
    with pytest.raises(PanelError, match=r"another instance\.key.*accept_new_key") as refusal:
        opened(database_url, tmp_path)
    assert refusal.value.fault is Fault.PLACE
    assert not (tmp_path / FILE).exists()
    (tmp_path / FILE).write_text(lost, encoding="ascii")
    opened(database_url, tmp_path).units.close()


def test_the_key_of_another_database_is_refused(database_url, tmp_path):
    opened(database_url, tmp_path).units.close()
    (tmp_path / FILE).write_text("ab" * 32 + "\n", encoding="ascii")
    with pytest.raises(PanelError, match="another"):
        opened(database_url, tmp_path)


def test_a_new_key_is_taken_when_the_organiser_says_so(database_url, tmp_path):
    first = opened(database_url, tmp_path)
    first.units.close()
    (tmp_path / FILE).unlink()
    second = opened(database_url, tmp_path, PANEL_ACCEPT_NEW_KEY="true")
    second.units.close()
    assert second.instance_key != first.instance_key
    opened(database_url, tmp_path).units.close()  # known from now on


def test_ids_have_their_length_and_alphabet(sqlite_url, tmp_path):
    with workplace(sqlite_url, tmp_path) as at:
        assert re.fullmatch("[a-z2-7]{12}", new_id(at))
        assert re.fullmatch("[a-z2-7]{16}", new_slug(at))
        assert re.fullmatch("[a-z2-7]{52}", new_token(at))
        assert len({new_id(at) for _ in range(1000)}) == 1000


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.ORGANISER])
def test_only_organisers_pass_as_organisers(role):
    with pytest.raises(PanelError) as refusal:
        Actor(role, "somebody", "c", "s").require_organiser()
    assert refusal.value.fault is Fault.FORBIDDEN


def test_organisers_and_the_sittings_own_stewards_serve():
    ORGANISER.require_organiser()
    ORGANISER.require_serving("c", "s")
    Actor(Role.STEWARD, "pass", "c", "s").require_serving("c", "s")


@pytest.mark.parametrize(
    "actor",
    [
        NOBODY,
        Actor(Role.STEWARD, "pass"),
        Actor(Role.STEWARD, "pass", "c", "other"),
        Actor(Role.STEWARD, "pass", "other", "s"),
        Actor(Role.POURER, "pass", "c", "s"),
        Actor(Role.KEY_HOLDER, "pass", "c", "s"),
        Actor.taster("c", "s", "ref"),
    ],
)
def test_nobody_else_serves(actor):
    with pytest.raises(PanelError) as refusal:
        actor.require_serving("c", "s")
    assert refusal.value.fault is Fault.FORBIDDEN
