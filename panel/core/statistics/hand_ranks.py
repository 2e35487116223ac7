"""The table on the sealed key of a ranking: by how much two rank sums have to differ."""

import math

from panel.core.statistics.hand_tally import FEWEST, MOST
from panel.core.statistics.inputs import Exact, check_alpha
from panel.core.statistics.rank_sums import range_quantile
from panel.core.statistics.results import HandTallyRow


def hand_rank_rows(drinks: int, cups: int, alpha: Exact, step: int = 1) -> tuple[HandTallyRow, ...]:
    """Smallest difference of two rank sums that is apart with all pairs held side by side, for 3 to
    60 ballots; with incomplete trays for multiples of `step`, up to 240.

    q √((k + 1) λ t / 12), λ = n k (k − 1) / (t (t − 1)) trays with both of a pair; with all drinks
    on every tray that is q √(n k (k + 1) / 12). None where it is more than sums can differ.
    """
    q = range_quantile(float(check_alpha(alpha)), drinks)
    counts = range(FEWEST, MOST + 1) if step == 1 else range(step, 4 * MOST + 1, step)
    rows = []
    for tasters in counts:
        together = tasters * cups * (cups - 1) / (drinks * (drinks - 1))
        apart = math.ceil(q * math.sqrt((cups + 1) * together * drinks / 12) - 1e-9)
        most = tasters * cups / drinks * (cups - 1)
        rows.append(HandTallyRow(tasters, apart if apart <= most else None))
    return tuple(rows)
