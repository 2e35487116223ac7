"""How many tasters a comparison plans for, by what its sittings are."""

import pytest

from panel.core.names import Information, SittingKind
from panel.core.plan import Plan
from panel.core.planning import outlook
from panel.core.turnout import planned_tasters, with_planned_tasters
from tests.core.invented import a_comparison, a_sitting

BLINDED, INFORMED = Information.BLINDED, Information.INFORMED
TABLE, PARCEL, REPEAT = SittingKind.TABLE, SittingKind.PARCEL, SittingKind.REPEAT


def of(*sittings, join=True):
    """A comparison of sittings given as (planned, kind, information)."""
    return a_comparison(
        plan=Plan(method="triangle", join_sittings=join),
        sittings=tuple(
            a_sitting(id=f"sitting{place:05}", planned=planned, kind=kind, information=information)
            for place, (planned, kind, information) in enumerate(sittings)
        ),
    )


@pytest.mark.parametrize(
    ("comparison", "tasters"),
    [
        (of(), 0),
        (of((12, TABLE, BLINDED)), 12),
        (of((12, TABLE, BLINDED), (8, PARCEL, BLINDED), (30, TABLE, INFORMED)), 20),
        (of((12, TABLE, BLINDED), (8, PARCEL, BLINDED), (3, TABLE, INFORMED), join=False), 8),
        (of((12, TABLE, INFORMED), (10, TABLE, INFORMED)), 22),
        (of((12, TABLE, INFORMED), (10, TABLE, INFORMED), join=False), 10),
        (of((12, TABLE, BLINDED), (40, REPEAT, BLINDED)), 12),
        (of((12, TABLE, INFORMED), (40, REPEAT, BLINDED), join=False), 12),
        (of((5, REPEAT, BLINDED), (8, REPEAT, INFORMED)), 8),
        (of((5, REPEAT, BLINDED), (8, REPEAT, INFORMED), join=False), 8),
    ],
)
def test_planned_tasters(comparison, tasters):
    assert planned_tasters(comparison) == tasters
    assert with_planned_tasters(comparison).plan.tasters == tasters


def test_the_outlook_of_a_kitchen_table_test_reckons_with_its_trays():
    """Five of five: 1/243 < 0.05; the fewest of 5 with P(X >= k) <= 0.05 at 1/3 is 4
    (11/243 = 0.0453), by hand."""
    planned = outlook(with_planned_tasters(of((5, REPEAT, BLINDED))).plan).planned
    assert planned is not None
    assert (planned.tasters, planned.decisive) == (5, 4)
