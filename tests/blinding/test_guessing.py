"""Over twenty thousand cups, nobody who learns from all that is to be seen guesses above chance.

What is looked for is any way at all, by any number on card, cup, label or in an address, to find
out which beer is in a cup or which cup answers the question. test_planted_draws.py shows that the
same guessers find leaks where there are some.
"""

import numpy as np
import pytest
from scipy.optimize import minimize

from panel.core.names import Blinding, SittingKind
from tests.blinding.cups import Making, cups_of
from tests.blinding.guessing import (
    GUESSERS,
    SHRINK,
    best_question,
    binned,
    fitted,
    guesses,
    targets,
)
from tests.blinding.sights import sights_of

SITTINGS = {
    "a triangle in waves": (Making(), 280, 20_000),
    "a tetrad in one shuffle": (Making(method="tetrad", blinding=Blinding.SINGLE), 210, 20_000),
    "parcels with a constant reference": (
        Making(method="duo-trio", reference="A", kind=SittingKind.PARCEL),
        100,
        4_800,
    ),
}


@pytest.mark.parametrize("name", SITTINGS)
def test_nobody_guesses_above_chance(name: str) -> None:
    making, sittings, least = SITTINGS[name]
    cups = cups_of(making, sittings)
    assert cups.asked.sum() >= least
    found = list(guesses(cups))
    assert len(found) == len(GUESSERS) * len(targets(cups)) == 12
    assert [str(guess) for guess in found if guess.knows] == []


def test_a_constant_reference_is_not_asked_about() -> None:
    """It is the same beer on every tray: whoever knows that has guessed nothing."""
    cups = cups_of(Making(method="duo-trio", reference="A"), 2)
    assert not cups.second[:, 0].any()
    assert cups.asked.tolist() == [[False, True, True]] * cups.trays
    assert cups_of(Making(method="duo-trio"), 2).asked.all()


def test_every_sight_is_seen_of_every_cup() -> None:
    """Codes, places, cards, labels and 120 bits; a column that never differs would be no sight."""
    cups = cups_of(Making(), 20)
    seen = sights_of(cups)
    still = [name for name, column in seen.raw.items() if column.std() == 0]
    assert still == ["label less its usual place"]  # labels come in the trays' own order
    assert {column.shape for column in (*seen.raw.values(), *seen.marks.values())} == {(480, 3)}
    assert sum(name.startswith("bit ") for name in seen.raw) == 120
    assert len(seen.raw) > 150
    assert len(seen.marks) > 200


# --- the guessers themselves ---------------------------------------------------------------------


def test_the_regression_finds_the_best_weights() -> None:
    """Against scipy's general minimiser on the same penalised likelihood."""
    chance = np.random.default_rng(1)
    columns = np.hstack([np.ones((400, 1)), chance.normal(size=(400, 3))])
    likely = 1 / (1 + np.exp(-columns @ np.array([0.2, 1.0, -0.5, 0.0])))
    wanted = (chance.random(400) < likely).astype(float)

    def loss(weights: np.ndarray) -> float:
        score = columns @ weights
        return float(np.logaddexp(0, score).sum() - wanted @ score + SHRINK / 2 * weights @ weights)

    best = minimize(loss, np.zeros(4)).x
    found = fitted(columns, wanted[:, None], columns.T @ columns)[:, 0]
    assert np.abs(found - best).max() < 0.02


def test_a_tree_asks_the_question_that_parts_best() -> None:
    """One column tells with its upper half, the others nothing."""
    chance = np.random.default_rng(2)
    columns = binned(list(chance.random((5, 1000)).astype(np.float32)))
    question = best_question(columns, columns[:, 3] > 15)
    assert question == (3, 15)
    assert best_question(columns[:150], columns[:150, 3] > 15) is None


def test_the_error_is_that_of_trays_not_of_cups() -> None:
    """All three cups of a tray right or wrong together: one try a tray, whatever the cups."""
    cups = cups_of(Making(), 30)
    by_letter = [guess for guess in guesses(cups, but=("tree",)) if guess.target == "letter"]
    assert by_letter
    for guess in by_letter:
        alone = np.sqrt(guess.share * (1 - guess.share) / guess.tries)
        assert 0.5 * alone < guess.error < 3**0.5 * alone
