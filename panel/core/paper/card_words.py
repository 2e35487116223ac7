"""What is written on cards: what a kit's cards have in common, and what one tray's card has."""

from dataclasses import dataclass

from panel.core.drawing import Matrix


@dataclass(frozen=True, kw_only=True)
class CardWords:
    """What stands on every card of a kit besides the questions. Texts in the reader's language.

    `address` is what is typed where no camera works, `result` where the result will be, `digest`
    the seal's SHA-256. `how` says how to smell or taste, once for each choice. `names` are the
    short names of questions answered in words, by question id; `longest_number` is the longest
    card number of the kit.
    """

    drink: str
    title: str
    sitting: str
    how: tuple[str, ...]
    address: str
    result: str
    digest: bytes
    names: tuple[tuple[str, str], ...] = ()
    longest_number: str = "9999 W"


@dataclass(frozen=True, kw_only=True)
class CardTray:
    """What one tray puts on its card: number with check letter, codes in serving order, the short
    code as shown, and the QR code of its address."""

    number: str
    codes: tuple[str, ...]
    short_code: str
    matrix: Matrix
