"""An invented comparison for tests of planning and printing; every name in it is made up."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from panel.core.comparison import Beer, Comparison, Sitting
from panel.core.plan import Plan, Serving

NOW = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)


THIRD = (Beer(letter="C", name="Saison kept at 23", value="23 °C", abv=Decimal("5.1")),)
"""For methods that take no fewer than three."""


def a_sitting(**changes: Any) -> Sitting:
    """A table sitting of 24 blinded tasters."""
    sitting = Sitting(
        id="sitting00001",
        name="Spring evening",
        planned=24,
        drawn=48,
        place="Back room, Alder Quay",
        starts=datetime(2027, 3, 14, 18, 30, tzinfo=UTC),
        zone="Europe/London",
    )
    return replace(sitting, **changes)


def a_comparison(**changes: Any) -> Comparison:
    """Two saisons, one fermented cool: a triangle with 24 tasters, ready to be sealed."""
    comparison = Comparison(
        id="comparison01",
        slug="k7xq2m4p9rtvw3za",
        title="Does a cool fermentation show?",
        neutral_title="Two saisons",
        variable="fermentation temperature",
        beers=(
            Beer(letter="A", name="Saison kept at 19", value="19 °C", abv=Decimal("5.0")),
            Beer(letter="B", name="Saison kept at 27", value="27 °C", abv=Decimal("5.2")),
        ),
        plan=Plan(method="triangle", tasters=24),
        serving=Serving(temperature=Decimal(8), vessel="clear 120 ml tasting glasses"),
        organised_by="The Harbour Guild",
        sittings=(a_sitting(),),
        created=NOW,
    )
    if "plan" in changes and "beers" not in changes:
        changes["beers"] = (*comparison.beers, *THIRD)[: changes["plan"].drinks]
    return replace(comparison, **changes)
