"""Into whose hands each sheet of a kit goes, and in which order a pile of them is dealt.

One table: the cover of a printed kit and its order follow from it. Sheets that show the key are
laid last whoever gets them, so that all before them may pass through any hands.
"""

from enum import StrEnum

from panel.core.message import Message, say


class Hand(StrEnum):
    """Who or what a sheet is for, in the order in which a pile is dealt."""

    STEWARD = "steward"
    WALL = "wall"
    TRAYS = "trays"
    PARCELS = "parcels"
    TASTER = "taster"
    POURER = "pourer"
    FOLDER = "folder"
    KEY_HOLDER = "key-holder"


NAMED: dict[Hand, Message] = {
    Hand.STEWARD: say("The steward"),
    Hand.WALL: say("The wall"),
    Hand.TRAYS: say("The trays"),
    Hand.PARCELS: say("The parcels"),
    Hand.TASTER: say("The one who tastes"),
    Hand.POURER: say("The pourer"),
    Hand.FOLDER: say("Whoever folds the slips"),
    Hand.KEY_HOLDER: say("The key holder"),
}
"""How a hand is called at the head of its sheets."""

GOES_TO: dict[str, Hand] = {
    "steward-page": Hand.STEWARD,
    "sign-in": Hand.STEWARD,
    "poster": Hand.WALL,
    "new-address": Hand.WALL,
    "ballot-cards": Hand.TRAYS,
    "tray-mats": Hand.TRAYS,
    "parcel-sheets": Hand.PARCELS,
    "repeat-sheet": Hand.TASTER,
    "cup-labels": Hand.POURER,
    "pour-sheet": Hand.POURER,
    "pour-mats": Hand.POURER,
    "told-slips": Hand.FOLDER,
    "sealed-key": Hand.KEY_HOLDER,
}
"""A sheet's name to the hand that gets it; within a hand in this order."""


def dealt(name: str, shows_key: bool) -> tuple[bool, int, int]:
    """Sorts sheets into the order of the pile: what shows the key last, then by hand."""
    hand = GOES_TO[name]
    return shows_key, list(Hand).index(hand), list(GOES_TO).index(name)
