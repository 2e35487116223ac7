"""Whether phones in the room can reach what the cards print, as the organiser's pages show it."""

from dataclasses import dataclass

from flask import url_for

from panel.core.drawing import Drawing
from panel.core.message import Message
from panel.services import link_code
from panel.services.reach import no_phone_reaches
from panel.web.place import at, own_addresses


@dataclass(frozen=True)
class Reach:
    """What to do where no phone can reach this machine (None where they can), and the address
    that a phone tries, with its code."""

    alone: Message | None
    address: str
    code: Drawing


def reach() -> Reach:
    """How phones reach this service. The page to try is not for the machine's own browser: there
    it always opens."""
    address = at().settings.address + url_for("public.reach")
    return Reach(
        no_phone_reaches(at().settings, own_addresses()), address, link_code.drawn(address)
    )
