"""A database as an earlier step left it."""

from sqlalchemy import text
from sqlalchemy.orm import Session

SEALED_ROWS = (
    "seal_once",
    *(
        f"{table}_{end}"
        for table in ("comparison", "beer", "sitting", "cup")
        for end in ("kept", "stays")
    ),
)
"""The triggers that step 0004 makes on SQLite."""


def back_to_step_1(session: Session) -> None:
    """As the first step left it."""
    if session.get_bind().dialect.name == "sqlite":
        triggers = [f"DROP TRIGGER {name}" for name in SEALED_ROWS]
    else:
        triggers = [
            f"DROP FUNCTION {name} CASCADE"
            for name in ("refuse_sealed_change", "refuse_row_change")
        ]
    for statement in (
        *triggers,
        "ALTER TABLE comparison DROP COLUMN duties",
        "ALTER TABLE invitation DROP COLUMN person",
        "DROP TABLE reading",
        "UPDATE alembic_version SET version_num = '0001'",
    ):
        session.execute(text(statement))
