"""Whether one thing that is seen of cups or trays says anything of another that is hidden.

Cups of one sitting are not independent of each other: a wave has every order once. So the sitting
is what is counted. In each, the table of seen by hidden is taken less what is to be expected where
nothing is known; over many sittings these differences have mean zero, and Hotelling's test (1931,
Annals of Mathematical Statistics 2) says how surprising their mean is, with the spread that
sittings really have. Pearson's chi-square would call a fair place-by-order table surprising too
often: by 6/5 of its size, since each wave deals six orders without replacement.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f

Whole = NDArray[np.int64]


def dependence(seen: Whole, hidden: Whole, shares: NDArray[np.float64] | None = None) -> float:
    """The p-value of "nothing is said". seen, hidden: sittings × things, numbered anyhow.

    shares: of the hidden values in ascending order, as the draw has them on average; equal where
    left out. 1.0 where the tables are the same at every sitting: there is nothing to be said.
    """
    differences = _differences(_numbered(seen), _numbered(hidden), shares)
    sittings = len(differences)
    mean = differences.mean(axis=0, dtype=np.float64)
    off = differences - mean.astype(differences.dtype)
    spread, ways = np.linalg.eigh((off.T @ off).astype(np.float64) / (sittings - 1))
    real = spread > 1e-4 * max(1e-6, spread.max())  # what never differs has none, but for rounding
    rank = int(real.sum())
    if rank == 0:
        return 1.0
    surprise = sittings * float((((mean @ ways)[real]) ** 2 / spread[real]).sum())
    scaled = surprise * (sittings - rank) / (rank * (sittings - 1))
    return float(f.sf(scaled, rank, sittings - rank))


def _numbered(values: Whole) -> Whole:
    return np.unique(values, return_inverse=True)[1].reshape(values.shape)


def _differences(
    seen: Whole, hidden: Whole, shares: NDArray[np.float64] | None
) -> NDArray[np.float32]:
    """Each sitting's table less what is to be expected, in a row; the last of either kind follows
    from the others and is left out."""
    sittings, rows, columns = len(seen), seen.max() + 1, hidden.max() + 1
    if shares is None:
        shares = np.full(columns, 1 / columns)
    place = (np.arange(sittings)[:, None] * rows + seen) * columns + hidden
    table = np.bincount(place.ravel(), minlength=sittings * rows * columns)
    table = table.reshape(sittings, rows, columns)
    expected = table.sum(axis=2, keepdims=True) * shares
    kept = (table - expected)[:, : max(1, rows - 1), :-1]
    # Single precision is enough for counts this small, and twice as quick with 584 columns.
    return kept.reshape(sittings, -1).astype(np.float32)


def planted(seen: Whole, hidden: Whole, every: int) -> Whole:
    """The hidden with a leak: at every so manieth sitting its values, otherwise the same, stand in
    the order of what is seen."""
    leaky = hidden.copy()
    turn = seen[::every].argsort(axis=1, kind="stable")
    np.put_along_axis(leaky[::every], turn, np.sort(hidden[::every], axis=1), axis=1)
    return leaky
