"""Plain values to keep and find again."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from panel.core.ballot import Ballot
from panel.core.comparison import Beer, Comparison, Cup, Sitting, Tray
from panel.core.names import Channel
from panel.core.plan import Plan, Serving
from panel.store import comparisons, trays
from panel.store.session import Session

NOON = datetime(2027, 3, 14, 12, 0, 0, 123_456, tzinfo=UTC)


def sitting(sitting_id: str = "sitting00001", **changes: Any) -> Sitting:
    """A sitting of six."""
    facts: dict[str, Any] = {
        "id": sitting_id,
        "name": "Spring evening",
        "planned": 6,
        "drawn": 12,
        "starts": NOON + timedelta(days=7),
        "zone": "Europe/London",
    }
    return Sitting(**{**facts, **changes})


def comparison(name: str = "comparison01", **changes: Any) -> Comparison:
    """A drafted comparison of two beers with one sitting, named after the comparison."""
    facts: dict[str, Any] = {
        "id": name,
        "slug": f"slug-{name}",
        "title": "Does a warm fermentation show?",
        "neutral_title": "Two saisons",
        "variable": "fermentation warmth",
        "beers": (
            Beer(letter="A", name="Cool tank", value="19 °C", abv=Decimal("5.0")),
            Beer(letter="B", name="Warm tank", value="27 °C", notes="second batch"),
        ),
        "plan": Plan(method="triangle", pd=None, d_prime=Decimal("1.10")),
        "serving": Serving(temperature=Decimal("8.0"), allergens=("barley", "oats")),
        "sittings": (sitting(f"{name}-s"),),
        "created": NOON,
    }
    return Comparison(**{**facts, **changes})


def tray(number: int, of: str = "comparison01-s", **changes: Any) -> Tray:
    """A tray of three cups; trays that differ by a number below 300 share no code."""
    codes = (str(100 + number), str(400 + number), str(700 + number))
    facts: dict[str, Any] = {
        "number": number,
        "sitting": of,
        "wave": 1 + number // 6,
        "place": 1 + number % 6,
        "cups": tuple(Cup(place, code) for place, code in enumerate(codes, start=1)),
    }
    return Tray(**{**facts, **changes})


def tokens(many: Iterable[Tray], seed: str = "") -> dict[int, tuple[str, str]]:
    """Stand-ins for tokens and typed codes, each its own."""
    return {
        one.number: (f"TOKEN{seed}{one.number:08d}", f"CODE{seed}{one.number:04d}") for one in many
    }


def ballot(number: int, picked: str = "", **changes: Any) -> Ballot:
    """A phone's ballot from a tray."""
    facts: dict[str, Any] = {
        "tray": number,
        "channel": Channel.PHONE,
        "answers": {"knew": ("nothing",), "odd": (picked or str(100 + number),)},
        "received": NOON,
    }
    return Ballot(**{**facts, **changes})


def with_trays(session: Session, count: int, name: str = "comparison01") -> None:
    """Keeps a comparison with that many trays."""
    comparisons.add(session, comparison(name))
    many = [tray(number, f"{name}-s") for number in range(1, count + 1)]
    trays.add_many(session, name, many, tokens(many, name[-2:]))
