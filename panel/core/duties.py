"""Who does what besides pouring and serving, as the organiser answers before sealing.

Every answer is a yes that takes something from the blinding; with none of them the evening is as
blind as its number of people allows (core.blinding).
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Duties:
    """`organiser_tastes`: then the organiser's account shows nothing of the key before closing.
    `server_*`: of whoever carries the trays. `labels_seen`: nobody puts cover names on containers.
    `helper_tastes`: whoever pours or serves is among the tasters."""

    organiser_tastes: bool = False
    server_brewed: bool = False
    server_pours: bool = False
    server_has_key: bool = False
    labels_seen: bool = False
    helper_tastes: bool = False


def duties_words(duties: Duties) -> dict[str, bool]:
    """Duties as JSON values."""
    return asdict(duties)


def duties_from(words: Mapping[str, Any]) -> Duties:
    """The duties that `duties_words` wrote; what is not there is no."""
    return Duties(**{field.name: words.get(field.name) is True for field in fields(Duties)})
