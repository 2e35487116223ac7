"""Bringing a database up to date: a backup first, then all steps or none."""

from collections.abc import Callable
from datetime import datetime

from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.services.backup_files import before_step
from panel.settings import Settings
from panel.store.migrations import HEAD, known_steps, revision, upgrade
from panel.store.session import Units


def bring_up_to_date(settings: Settings, units: Units, now: Callable[[], datetime]) -> None:
    """Creates the schema, or takes an older one to the newest step.

    What is there already is backed up first, into instance/backups. PanelError (fault PLACE) with
    the way back if a step fails; the database then is as it was.
    """
    with units.read() as session:
        step = revision(session.connection())
    if step == HEAD:
        return
    if step is None or step not in known_steps():
        upgrade(units.engine)  # an empty one is made; a newer one is refused in words
        return
    kept = before_step(units, settings.instance, HEAD, now())
    try:
        upgrade(units.engine)
    except Exception as failure:
        raise PanelError(
            "not-brought-up-to-date", _way_back(step, str(kept), failure), Fault.PLACE
        ) from failure


def _way_back(step: str, kept: str, failure: Exception) -> Message:
    why = str(failure.message) if isinstance(failure, PanelError) else type(failure).__name__
    return say(
        "The database could not be taken from step %(step)s to step %(head)s (%(why)s). Nothing in "
        "it was changed: go on with the Panel that you had before. A backup from just now is "
        "%(kept)s; should you need it, that Panel takes it in with “panel restore”.",
        step=step,
        head=HEAD,
        why=why,
        kept=kept,
    )
