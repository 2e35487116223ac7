"""Whether phones in the room can reach what the cards will print, and what to do if not."""

import socket
from collections.abc import Callable, Iterable
from ipaddress import ip_address
from urllib.parse import urlsplit

from panel.core.message import Message, say
from panel.settings import Settings, listens_here_only, on_this_machine_only

OwnAddresses = Callable[[], tuple[str, ...]]
"""Finds the addresses at which this machine may be reached from a room."""

ELSEWHERE = ("192.168.0.1", "10.0.0.1", "172.16.0.1", "192.0.2.1")
"""One address of each private network (RFC 1918), and one that nobody has (RFC 5737)."""

EXAMPLE = "192.168.1.20"


def nowhere() -> tuple[str, ...]:
    """A finder that does not look."""
    return ()


def own_addresses(elsewhere: Iterable[str] = ELSEWHERE) -> tuple[str, ...]:
    """This machine's own addresses (IPv4), by which it would send to those; () if none is found.

    Nothing is sent and nobody is asked: connecting a datagram socket only looks up the route, so
    it works without the internet, and an address behind no route is left out.
    """
    found: dict[str, None] = {}
    for other in elsewhere:
        try:
            with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
                asked.connect((other, 9))
                own = str(asked.getsockname()[0])
        except OSError:
            continue
        if not (ip_address(own).is_loopback or ip_address(own).is_unspecified):
            found[own] = None
    return tuple(found)


def no_phone_reaches(settings: Settings, addresses: OwnAddresses = nowhere) -> Message | None:
    """What to do where cards would print an address that leads phones nowhere; None if they do."""
    if on_this_machine_only(settings):
        return _here_only(settings, addresses())
    if listens_here_only(settings) and not settings.proxies:
        return say(
            "The cards' codes lead to %(address)s, but Panel listens on this machine alone: no "
            "phone can reach it. For phones, stop Panel and start it with --host 0.0.0.0. Without "
            "that the cards are for paper ballots only.",
            address=settings.address,
        )
    return _elsewhere(settings, addresses())


def _elsewhere(settings: Settings, own: tuple[str, ...]) -> Message | None:
    """What to do where the address is one of a room's network and not, or no more, this machine's.

    A name may lead anywhere, and a proxy stands elsewhere: of those nothing can be said here.
    """
    host = urlsplit(settings.address).hostname or ""
    try:
        in_a_room = ip_address(host).is_private
    except ValueError:
        return None
    if settings.proxies or not in_a_room or not own or host in own:
        return None
    return say(
        "The cards' codes lead to %(address)s, and this machine is not there now: another wifi, "
        "perhaps. For phones, stop Panel and start it with --address %(own)s. Cards that are "
        "printed already stay good: print “New address” from the sheets on request.",
        address=settings.address,
        own=_either([_written(one, settings.port) for one in own]),
    )


def _here_only(settings: Settings, own: tuple[str, ...]) -> Message:
    address = settings.address
    if not own:
        return say(
            "The cards' codes would lead to %(address)s, which no phone can reach: paper ballots "
            "only. For phones, stop Panel and start it with --host 0.0.0.0 and with --address and "
            "this machine's address in the room's wifi, such as %(example)s; then print.",
            address=address,
            example=_written(EXAMPLE, settings.port),
        )
    return say(
        "The cards' codes would lead to %(address)s, which no phone can reach: paper ballots "
        "only. For phones, stop Panel, start it with --host 0.0.0.0 --address %(own)s, and then "
        "print. That is where this machine is now, if the wifi is the room's already.",
        address=address,
        own=_either([_written(one, settings.port) for one in own]),
    )


def _either(words: list[str]) -> Message | str:
    if len(words) == 1:
        return words[0]
    return say("%(these)s or %(last)s", these=", ".join(words[:-1]), last=words[-1])


def _written(host: str, port: int) -> str:
    return f"http://{host}:{port}"
