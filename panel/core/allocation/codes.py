"""Three-digit cup codes: which can be used, and how the cups of a sitting get theirs.

A code is 100 to 999 with three different digits: repeated digits are liked or disliked for their
own sake (Honda 2020), and so are straight runs (123, 987), which are left out too. So are codes
written wholly in 0, 1, 6, 8, 9: they are another number when the cup is turned round. That leaves
585. Three-digit random codes, every cup its own: modelled on ISO 4120:2021, 5.5.
"""

from collections import Counter
from collections.abc import Iterable, Sequence

from panel.core.allocation.draw import Stream
from panel.core.errors import PanelError
from panel.core.message import Message, say

READ_UPSIDE_DOWN = frozenset("01689")
RUNS = ((1, 1), (-1, -1))


def _is_safe(code: str) -> bool:
    first, second, third = (int(digit) for digit in code)
    return (
        len(set(code)) == 3
        and (second - first, third - second) not in RUNS
        and not set(code) <= READ_UPSIDE_DOWN
    )


POOL: tuple[str, ...] = tuple(code for code in map(str, range(100, 1000)) if _is_safe(code))
"""The 585 codes that can stand on a cup, ascending."""


def usable_codes(excluded: Iterable[str] = ()) -> tuple[str, ...]:
    """The pool without further codes, such as numbers that carry a meaning where the tasters live.

    excluded: three-digit codes, in the pool or not; anything else is a PanelError "not-a-code".
    """
    left_out = {_three_digits(code) for code in excluded}
    return tuple(code for code in POOL if code not in left_out)


def deal_codes(
    stream: Stream, cups_per_wave: Sequence[int], excluded: Iterable[str] = ()
) -> tuple[tuple[str, ...], ...]:
    """Codes for the cups of each wave, in the order of waves, trays and positions.

    cups_per_wave: cups of each wave in the order of dealing (planned waves first, spares after).
    The pool is shuffled and dealt from the front. Used up, it is shuffled again; codes already in
    the wave being dealt go to the back, in their new order. So every cup has a code of its own
    while the supply lasts, a wave's cups always differ, and codes are reused evenly. Beers are not
    looked at: a code is tied to none.

    PanelError "too-many-cups" when a wave has more cups than there are codes.
    """
    pool = usable_codes(excluded)
    most = max(cups_per_wave, default=0)
    if most > len(pool):
        raise too_many_cups(
            say(
                "One wave needs %(cups)s coded cups, but only %(codes)s codes can be used. "
                "Plan smaller waves, or leave out fewer codes.",
                cups=most,
                codes=len(pool),
            )
        )
    waves: list[tuple[str, ...]] = []
    deck: list[str] = []
    for cups in cups_per_wave:
        wave: list[str] = []
        for _ in range(cups):
            deck = deck or _fresh_deck(stream, pool, wave)
            wave.append(deck.pop())
        waves.append(tuple(wave))
    return tuple(waves)


def too_many_cups(message: Message) -> PanelError:
    """The refusal of a sitting whose cups cannot be told apart by their codes."""
    return PanelError("too-many-cups", message, field="planned")


def reused_codes(codes_per_tray: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """The codes that stand on more than one cup, ascending; a caution says so when there are any.

    codes_per_tray: the codes of each tray that was served.
    """
    cups = Counter(code for codes in codes_per_tray for code in codes)
    return tuple(sorted(code for code, count in cups.items() if count > 1))


def _fresh_deck(stream: Stream, pool: Sequence[str], wave: Sequence[str]) -> list[str]:
    """A shuffled pool, last code on top (the end of the list is the front of the deck)."""
    shuffled = stream.shuffle(pool)
    taken = set(wave)
    in_turn = [code for code in shuffled if code not in taken]
    in_turn += [code for code in shuffled if code in taken]
    return in_turn[::-1]


def _three_digits(code: str) -> str:
    tidy = code.strip()
    if len(tidy) == 3 and tidy.isascii() and tidy.isdigit():
        return tidy
    raise PanelError(
        "not-a-code",
        say("“%(typed)s” is not a code. Type three digits for each code to leave out.", typed=code),
        field="excluded_codes",
    )
