"""Backups: one moment of the database in files, while the evening goes on; and the way back.

What is in a backup can be proved by whoever has it: hashes, counts and the ends of every record.
The instance key and the settings are not in it; they are kept apart.
"""

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import make_url

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.record import INSTANCE
from panel.services.backup_files import FOLDER, stamp, unpacked, write
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.settings import Settings
from panel.store import restoration
from panel.store.instance_key import check_folder, holds
from panel.store.migrations import known_steps
from panel.store.session import Units, make_engine
from panel.store.snapshot import Manifest, prove, read_manifest


@dataclass(frozen=True)
class Restored:
    """What was restored; where that lies which was there before, if anything was; and whether the
    instance folder has the key that this database was made with."""

    manifest: Manifest
    kept: Path | None
    key_fits: bool


def back_up(at: Workplace, actor: Actor, out: Path) -> Manifest:
    """Writes a backup to `out`: a new folder, or one new file if its name ends in .zip.

    Nobody has to stop meanwhile. PanelError if there is something at `out` already or it cannot be
    written; then nothing is left there.
    """
    actor.require_organiser()
    manifest = write(at.units, out, at.now())
    with at.units.begin() as session:
        digest = manifest.files[manifest.data]
        record(session, at, actor, INSTANCE, Deed.BACKED_UP, schema=manifest.schema, data=digest)
    return manifest


def restore(
    source: Path,
    settings: Settings,
    *,
    replace: bool = False,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Restored:
    """Puts a backup in the place of an installation's database.

    Everything is proved before anything is replaced: hashes, the database's own check, foreign
    keys, counts, every chain of the record. An older schema is brought up to date on the way.
    PanelError, and nothing changed, if the backup is damaged or newer than this program, if the
    database holds anything and not `replace`, or if the service is running on it.
    """
    check_folder(settings.instance)
    if not source.exists():
        raise PanelError(
            "no-backup", say("There is no backup at %(source)s.", source=str(source)), Fault.MISSING
        )
    with (
        unpacked(source, settings.instance) as folder,
        closing(Units(make_engine(settings.database_url))) as units,
    ):
        manifest = read_manifest(folder)
        _not_newer(manifest)
        staged = restoration.as_database(folder, manifest)
        prove(staged, manifest)
        mark = restoration.bring_up(staged, manifest, now())
        kept = _put_in_place(staged, units, settings, now(), replace)
    return Restored(manifest, kept, holds(settings.instance, mark))


def _put_in_place(
    staged: Path, units: Units, settings: Settings, moment: datetime, replace: bool
) -> Path | None:
    """Where the database that was there before is kept; None if there was nothing in it."""
    file = make_url(settings.database_url).database or ""
    on_sqlite = units.engine.dialect.name == "sqlite"
    fresh = (on_sqlite and not Path(file).exists()) or restoration.is_empty(units)
    if not fresh and not replace:
        raise _not_empty()
    units.close()
    folder = settings.instance / FOLDER
    folder.mkdir(exist_ok=True)
    if on_sqlite:
        kept = folder / f"replaced-{stamp(moment)}.db"
        restoration.swap_file(staged, Path(file), kept)
    else:
        kept = folder / f"replaced-{stamp(moment)}.zip"
        if not fresh:
            write(units, kept, moment)
        restoration.swap_rows(staged, units.engine)
    if fresh:
        kept.unlink(missing_ok=True)
        return None
    return kept


def _not_newer(manifest: Manifest) -> None:
    if manifest.schema not in known_steps():
        raise PanelError(
            "backup-newer",
            say(
                "A newer Panel (%(program)s, step %(step)s) has written this backup, and this one "
                "cannot read it. Install the newest Panel, then restore it. Nothing was changed.",
                program=manifest.program,
                step=manifest.schema,
            ),
            Fault.PLACE,
        )


def _not_empty() -> PanelError:
    return PanelError(
        "database-not-empty",
        say(
            "There are comparisons or people in this installation's database already, so nothing "
            "was changed. Restore into a new instance folder, or say --replace to put the backup "
            "in their place; what is there now is then kept in the folder “%(folder)s”.",
            folder=FOLDER,
        ),
        Fault.CLASH,
    )
