"""Serving orders: dealt in balanced waves, in one shuffle, or each by itself.

Waves are for sittings whose steward does not know the key: any tray of a wave may go to anybody,
and every wave that was served leaves the orders balanced. Who sees the key could tell the last
trays of a wave from the first, as with every small block (Cochrane Handbook, 8.15.1.3; Blackwell
and Hodges 1957), so there the whole sitting is one shuffle. Where a tray's own answer may open
before the next tray is served, even that would tell: there each order is drawn by itself.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import islice

from panel.core.allocation.draw import Stream

Waves = tuple[tuple[str, ...], ...]
"""Orders by wave, each a string of beer letters by position: (("ABA", "BBA", ...), ...)."""


def deal_orders(
    stream: Stream, complete_set: Sequence[str], wave_sizes: Sequence[int], one_shuffle: bool
) -> Waves:
    """Orders for waves of the given sizes, as balanced as numbers allow, shuffled.

    complete_set: the method's orders, each once. Counts of any two orders differ by at most 1 over
    the whole; without `one_shuffle` also within every wave and after every wave. With it, one
    balanced list is shuffled once and cut into waves.
    """
    check_complete_set(complete_set)
    steps = (sum(wave_sizes),) if one_shuffle else wave_sizes
    dealt: list[str] = []
    for size in steps:
        dealt += _deal_wave(stream, complete_set, size, Counter(dealt))
    return _cut(dealt, wave_sizes)


def deal_independent_orders(
    stream: Stream, complete_set: Sequence[str], wave_sizes: Sequence[int]
) -> Waves:
    """Orders for waves of the given sizes, each tray dealt as a wave of its own, without memory."""
    check_complete_set(complete_set)
    dealt: list[str] = []
    for _ in range(sum(wave_sizes)):
        dealt += _deal_wave(stream, complete_set, 1, Counter())
    return _cut(dealt, wave_sizes)


def wave_sizes_of(trays: int, wave_size: int) -> tuple[int, ...]:
    """Full waves and a last, smaller one if need be: 20 trays by 6 are (6, 6, 6, 2)."""
    full, rest = divmod(trays, wave_size)
    return (wave_size,) * full + ((rest,) if rest else ())


def check_complete_set(complete_set: Sequence[str]) -> None:
    """ValueError unless the orders are different, of one length and not empty."""
    lengths = {len(order) for order in complete_set}
    if len(lengths) != 1 or 0 in lengths or len(set(complete_set)) != len(complete_set):
        raise ValueError("a complete set has different orders of one length, at least one")


def _deal_wave(
    stream: Stream, complete_set: Sequence[str], size: int, before: Mapping[str, int]
) -> tuple[str, ...]:
    """One shuffled wave. before: how often each order has been dealt so far.

    Whole sets first. For the rest the complete set is shuffled, those dealt less often before are
    moved to the front (otherwise in their shuffled order), and the first of them are taken.
    """
    whole, rest = divmod(size, len(complete_set))
    turn = sorted(stream.shuffle(complete_set), key=lambda order: before.get(order, 0))
    return stream.shuffle(tuple(complete_set) * whole + tuple(turn[:rest]))


def _cut(dealt: Sequence[str], wave_sizes: Sequence[int]) -> Waves:
    supply = iter(dealt)
    return tuple(tuple(islice(supply, size)) for size in wave_sizes)
