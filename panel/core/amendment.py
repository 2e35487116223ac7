"""A change after sealing, with its reason: it stands in every report and is never edited."""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from panel.core.allocation.seal import canonical


@dataclass(frozen=True, kw_only=True)
class Amendment:
    """`number` counts from 1 in its comparison, `made` is UTC; the words are published."""

    number: int
    made: datetime
    what: str
    reason: str


def words_hash(what: str, reason: str) -> str:
    """SHA-256 of [what, reason] in canonical JSON: it stands in the record beside the number, so
    that an amendment cannot be worded anew afterwards."""
    return hashlib.sha256(canonical([what, reason])).hexdigest()
