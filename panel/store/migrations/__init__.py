"""The schema step by step: one file a step in versions/, newest = HEAD. Start-up runs upgrade().

A step that recreates a table on SQLite (Alembic's batch mode) loses that table's triggers: make
them again in the same step.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, text

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.store.session import WRITES, in_words

if TYPE_CHECKING:
    from alembic.config import Config

FOLDER = Path(__file__).parent
HEAD = "0004"
"""The newest step, named here so that a usual start need not load Alembic (0.3 s)."""


def upgrade(engine: Engine) -> None:
    """Create or update the schema; PanelError (fault PLACE) if a newer Panel has written it."""
    with in_words(), engine.execution_options(**{WRITES: True}).begin() as connection:
        bring_to(connection)


def bring_to(connection: Connection, step: str = HEAD) -> None:
    """The same inside a transaction of the caller's, up to a step."""
    current = revision(connection)
    if current != step:
        _run(connection, current, step)


def known_steps() -> frozenset[str]:
    """Every step that this program can read."""
    return frozenset(_steps(_config()))


def revision(connection: Connection) -> str | None:
    """The step the database stands at; None if it is empty."""
    if connection.dialect.name == "sqlite":
        tables = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'alembic_version'"
    else:
        tables = "SELECT 1 WHERE to_regclass('alembic_version') IS NOT NULL"
    if connection.execute(text(tables)).first() is None:
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _config() -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _steps(config: "Config") -> set[str]:
    from alembic.script import ScriptDirectory

    return {step.revision for step in ScriptDirectory.from_config(config).walk_revisions()}


def _run(connection: Connection, current: str | None, step: str) -> None:
    from alembic import command

    config = _config()
    config.attributes["connection"] = connection
    if current is not None and current not in _steps(config):
        raise PanelError(
            "database-newer",
            say(
                "A newer Panel has written this database (step %(step)s; this one knows up to "
                "%(head)s). Install the newest Panel, or restore a backup from before.",
                step=current,
                head=HEAD,
            ),
            Fault.PLACE,
        )
    command.upgrade(config, step)
