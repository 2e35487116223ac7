"""Questions about seals: the public commitment, and what rests shut behind it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from panel.core.comparison import Seal
from panel.store.key_at_rest import Ciphertext
from panel.store.tables_comparison import SealRow


@dataclass(frozen=True)
class SealedPlan:
    """The seal and the plan document that it covers, as canonical JSON text."""

    seal: Seal
    document: str


def add(
    session: Session,
    comparison_id: str,
    *,
    digest: str,
    document: str,
    made: datetime,
    ciphertext: Ciphertext,
) -> None:
    """Keep a comparison's one seal."""
    session.add(
        SealRow(
            comparison=comparison_id,
            digest=digest,
            document=document,
            made=made,
            ciphertext=ciphertext.bytes,
            algorithm=ciphertext.algorithm,
            version=ciphertext.version,
        )
    )
    session.flush()


def load(session: Session, comparison_id: str) -> SealedPlan | None:
    """Seal and plan document, which anyone may see who may see the plan."""
    row = session.get(SealRow, comparison_id)
    return None if row is None else SealedPlan(Seal(digest=row.digest, made=row.made), row.document)


def rest(session: Session, comparison_id: str) -> Ciphertext | None:
    """Secret and key as they rest."""
    row = session.get(SealRow, comparison_id)
    return None if row is None else Ciphertext(row.ciphertext, row.algorithm, row.version)


def rewrap(session: Session, comparison_id: str, ciphertext: Ciphertext) -> None:
    """Put another ciphertext in its place: trays of a further sitting, or a new instance key."""
    row = session.get_one(SealRow, comparison_id)
    row.ciphertext = ciphertext.bytes
    row.algorithm = ciphertext.algorithm
    row.version = ciphertext.version
    session.flush()


def open_seal(session: Session, comparison_id: str, words: Mapping[str, Any]) -> None:
    """Write secret and key down in plain JSON words, at closing; once and for all."""
    session.get_one(SealRow, comparison_id).opened = dict(words)
    session.flush()


def opened(session: Session, comparison_id: str) -> dict[str, Any] | None:
    """Secret and key in plain words; None before closing."""
    row = session.get(SealRow, comparison_id)
    return None if row is None else row.opened
