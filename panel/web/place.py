"""What a request finds in its application."""

from typing import cast

from flask import current_app

from panel.services.reach import OwnAddresses
from panel.services.whole_records import BrokenChain
from panel.services.workplace import Workplace

KEY = "panel"
BROKEN = "panel broken chains"
ADDRESSES = "panel own addresses"


def at() -> Workplace:
    """The workplace this application was made with."""
    return cast(Workplace, current_app.extensions[KEY])


def broken_chains() -> tuple[BrokenChain, ...]:
    """The chains of the record that were found broken when this application was made."""
    return cast(tuple[BrokenChain, ...], current_app.extensions[BROKEN])


def own_addresses() -> OwnAddresses:
    """Finds where this machine may be reached."""
    return cast(OwnAddresses, current_app.extensions[ADDRESSES])


def over_https() -> bool:
    """Whether people reach this service by https, as the settings' address says."""
    return at().settings.address.startswith("https://")
