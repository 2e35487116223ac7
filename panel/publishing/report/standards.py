"""Which published standard each test is modelled on; read in previews where it says so.

Nothing here conforms to a standard: it is modelled on one, and says in what it differs.
"""

from panel.core.message import Message, say

MODELLED_ON: dict[str, str] = {
    "a-not-a": "ISO 8588",
    "a-not-a-both": "ISO 8588",
    "triangle": "ISO 4120",
    "duo-trio": "ISO 10399",
    "paired": "ISO 5495",
    "paired-preference": "ISO 5495",
    "ranking": "ISO 8587",
    "tetrad": "ASTM E3009",
    "tetrad-specified": "ASTM E3009",
    "two-out-of-five": "ISO 6658",
}


def modelled_on(method: str) -> Message | None:
    """The standard of a method as a sentence; None where no standard is known."""
    if method not in MODELLED_ON:
        return None
    return say(
        "modelled on %(standard)s, without a claim to conform to it", standard=MODELLED_ON[method]
    )
