"""The guard in tests/conftest.py: tests reach this machine and nothing beyond it.

Addresses: RFC 5737 (192.0.2.0/24) and RFC 3849 (2001:db8::/32), set aside for documentation.
"""

import socket

import pytest

from tests.conftest import NetworkForbiddenError, refuse_network


def test_a_connection_outward_is_refused():
    with socket.socket() as opened, pytest.raises(NetworkForbiddenError, match=r"192\.0\.2\.1"):
        opened.connect(("192.0.2.1", 80))


def test_a_datagram_outward_is_refused():
    with (
        socket.socket(type=socket.SOCK_DGRAM) as opened,
        pytest.raises(NetworkForbiddenError),
    ):
        opened.sendto(b"hello", ("192.0.2.1", 9))


def test_a_look_up_is_refused():
    with pytest.raises(NetworkForbiddenError, match=r"example\.org"):
        socket.create_connection(("example.org", 80))


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "::1", None, ""])
def test_this_machine_may_be_reached(host):
    refuse_network("socket.getaddrinfo", (host, 80, 0, 0, 0))
    refuse_network("socket.connect", (None, (host, 80)))


def test_a_unix_socket_may_be_reached():
    refuse_network("socket.connect", (None, "/run/server.sock"))


def test_a_server_on_loopback_answers():
    with (
        socket.create_server(("127.0.0.1", 0)) as server,
        socket.create_connection(server.getsockname()) as client,
    ):
        accepted, _ = server.accept()
        with accepted:
            client.sendall(b"ballot")
            assert accepted.recv(6) == b"ballot"


@pytest.mark.parametrize("address", [("2001:db8::1", 80, 0, 0), ("10.0.0.1", 80)])
def test_any_other_address_is_refused(address):
    with pytest.raises(NetworkForbiddenError):
        refuse_network("socket.connect", (None, address))
