"""One line in the record, in the transaction of the deed it tells of."""

from sqlalchemy.orm import Session

from panel.core.deeds import Deed
from panel.services.workplace import Actor, Workplace
from panel.store import records


def record(
    session: Session,
    at: Workplace,
    actor: Actor,
    chain: str,
    deed: Deed,
    subject: str = "",
    **detail: int | str | bool | None,
) -> None:
    """Appends to a chain (a comparison's id, or "instance"). Detail: ids and numbers, never names
    or free words, so that erasing a person breaks no chain. Call it last: the chain's lock is the
    last one taken."""
    records.append(
        session,
        chain,
        at.now(),
        role=actor.role,
        who=actor.person,
        what=deed,
        subject=subject,
        detail=detail,
    )
