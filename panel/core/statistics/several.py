"""Several tests at once: p-values adjusted so that the risk of any false alarm stays alpha."""

from collections.abc import Sequence


def holm(p_values: Sequence[float]) -> tuple[float, ...]:
    """Holm's adjusted p-values, in the order given (Holm 1979, Scand J Stat 6:65–70).

    Each is compared with alpha itself. The smallest is multiplied by the number of tests, the next
    by one less, and so on, none below the one before it and none above 1. ValueError for a number
    that is no probability.
    """
    if any(not 0 <= p <= 1 for p in p_values):
        raise ValueError("p-values lie between 0 and 1")
    adjusted = [0.0] * len(p_values)
    least = 0.0
    for rank, at in enumerate(sorted(range(len(p_values)), key=lambda at: p_values[at])):
        least = max(least, min(1.0, p_values[at] * (len(p_values) - rank)))
        adjusted[at] = least
    return tuple(adjusted)
