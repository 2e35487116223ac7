"""A change after sealing, with its reason: it stands in every report and is never edited."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, kw_only=True)
class Amendment:
    """`number` counts from 1 in its comparison, `made` is UTC; the words are published."""

    number: int
    made: datetime
    what: str
    reason: str
