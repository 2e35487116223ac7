"""Whether phones can reach what the cards print, said before anything is printed."""

import socket
from pathlib import Path
from typing import Any

import pytest

from panel import settings as settings_room
from panel.services.reach import no_phone_reaches, own_addresses
from panel.settings import Settings


def given(tmp_path: Path, **words: str) -> Settings:
    return settings_room.load({f"PANEL_{name.upper()}": word for name, word in words.items()},
                              tmp_path)  # fmt: skip


@pytest.mark.parametrize(
    "words",
    [
        {},
        {"host": "0.0.0.0"},
        {"host": "0.0.0.0", "address": "http://127.0.0.1:8000"},
        {"address": "http://[::1]:8000"},
    ],
)
def test_an_address_of_this_machine_alone_is_called_so(
    tmp_path: Path, words: dict[str, str]
) -> None:
    said = str(no_phone_reaches(given(tmp_path, **words)))
    assert "no phone can reach" in said
    assert "--host 0.0.0.0 and with --address" in said
    assert "http://192.168.1.20:8000" in said


def test_an_address_in_the_room_is_no_trouble(tmp_path: Path) -> None:
    there = {"host": "0.0.0.0", "address": "http://192.168.1.20:8000"}
    assert no_phone_reaches(given(tmp_path, **there)) is None
    proxied = {"address": "https://panel.example", "proxies": "1"}
    assert no_phone_reaches(given(tmp_path, **proxied)) is None


def test_listening_to_nobody_but_oneself_is_said_too(tmp_path: Path) -> None:
    said = str(no_phone_reaches(given(tmp_path, address="http://192.168.1.20:8000")))
    assert "listens on this machine alone" in said


def test_addresses_that_were_found_are_offered(tmp_path: Path) -> None:
    known = given(tmp_path, host="0.0.0.0", port="8010")
    one = str(no_phone_reaches(known, lambda: ("10.1.2.3",)))
    assert "--address http://10.1.2.3:8010, and then print" in one
    two = str(no_phone_reaches(known, lambda: ("10.1.2.3", "192.168.7.7")))
    assert "http://10.1.2.3:8010 or http://192.168.7.7:8010" in two


def test_an_address_that_is_no_more_this_machines_is_told(tmp_path: Path) -> None:
    there = given(tmp_path, host="0.0.0.0", address="http://192.168.1.20:8000")
    said = str(no_phone_reaches(there, lambda: ("192.168.44.17",)))
    assert "this machine is not there now" in said
    assert "--address http://192.168.44.17:8000" in said
    assert "New address" in said
    assert no_phone_reaches(there, lambda: ("10.0.0.9", "192.168.1.20")) is None
    assert no_phone_reaches(there, lambda: ()) is None


def test_of_names_public_addresses_and_proxies_nothing_is_guessed(tmp_path: Path) -> None:
    here = lambda: ("192.168.44.17",)  # noqa: E731
    for words in (
        {"address": "http://laptop.local:8000"},
        {"address": "http://93.184.216.34"},
        {"address": "http://192.168.1.20", "proxies": "1"},
    ):
        assert no_phone_reaches(given(tmp_path, host="0.0.0.0", **words), here) is None


class Routed:
    """A datagram socket of a machine with one network: others have no route."""

    def __init__(self, *_kind: Any) -> None:
        self.own = ""

    def __enter__(self) -> "Routed":
        return self

    def __exit__(self, *_why: object) -> None:
        pass

    def connect(self, place: tuple[str, int]) -> None:
        if place[0].startswith("10."):
            raise OSError("Network is unreachable")
        self.own = "127.0.0.1" if place[0].startswith("172.") else "192.168.4.2"

    def getsockname(self) -> tuple[str, int]:
        return self.own, 1


def test_the_machines_own_addresses_without_loopback(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(socket, "socket", Routed)
    assert own_addresses() == ("192.168.4.2",)
    assert own_addresses(("10.0.0.1",)) == ()


def test_a_route_is_looked_up_by_a_real_socket() -> None:
    """On loopback, where the guard against the network lets it: and that is no room's address."""
    assert own_addresses(("127.0.0.1",)) == ()
