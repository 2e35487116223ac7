"""Backups as files: a folder or one .zip, written whole or not at all, and read back."""

import os
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from panel import __version__
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.store.session import Units
from panel.store.snapshot import DATABASE, MANIFEST, ROWS, Manifest, take, unusable

FOLDER = "backups"
"""Where the program's own backups lie, in the instance folder."""

KEPT = 5
"""How many of its own are kept; those that a person asked for are never deleted."""


def write(units: Units, out: Path, made: datetime) -> Manifest:
    """Writes a backup to a new folder, or to one new file if its name ends in .zip.

    PanelError if there is something there already or it cannot be written; then nothing is left.
    """
    if out.exists():
        raise PanelError(
            "backup-exists",
            say(
                "There is something at %(out)s already. Name a folder or a .zip file that is not "
                "there yet.",
                out=str(out),
            ),
        )
    with _beside(out) as folder:
        manifest = take(units, folder, made, __version__)
        ready = _zipped(folder) if out.suffix.lower() == ".zip" else folder
        ready.rename(out)
    return manifest


def before_step(units: Units, instance: Path, step: str, made: datetime) -> Path:
    """A backup of the program's own, before the schema goes on to a step; older ones go."""
    folder = instance / FOLDER
    name = f"before-step-{step}-{stamp(made)}"
    # A clock that was set back must not keep the program from starting.
    out = next(path for again in count() if not (path := folder / f"{name}-{again}.zip").exists())
    write(units, out, made)
    ours = sorted(folder.glob("before-step-*.zip"), key=lambda path: path.stat().st_mtime_ns)
    for old in ours[:-KEPT]:
        old.unlink(missing_ok=True)
    return out


@contextmanager
def unpacked(source: Path, beside: Path) -> Iterator[Path]:
    """A folder on the disk of `beside` with a copy of a backup's files, gone at the end.

    PanelError if there is no such backup.
    """
    folder = Path(tempfile.mkdtemp(prefix=".restoring-", dir=beside))
    try:
        try:
            _copy(source, folder)
        except (OSError, zipfile.BadZipFile, KeyError, EOFError, zlib.error) as failure:
            raise unusable(str(say("it is not a folder or a .zip that can be read"))) from failure
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def stamp(moment: datetime) -> str:
    """A moment as a part of a file name, to the microsecond: two that start at once differ."""
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%S.%fZ")


@contextmanager
def _beside(out: Path) -> Iterator[Path]:
    """An empty folder on the same disk, gone at the end unless it was renamed."""
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        outer = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    except OSError as failure:
        raise _not_written(failure) from failure
    try:
        inner = outer / "backup"
        inner.mkdir()
        yield inner
    except OSError as failure:
        raise _not_written(failure) from failure
    finally:
        shutil.rmtree(outer, ignore_errors=True)


def _copy(source: Path, folder: Path) -> None:
    """Only files of these names, wherever an archive would like to put others."""
    if source.is_dir():
        for name in (MANIFEST, DATABASE, ROWS):
            if (source / name).exists():
                shutil.copyfile(source / name, folder / name)
        return
    with zipfile.ZipFile(source) as archive:
        for name in (MANIFEST, DATABASE, ROWS):
            if name in archive.namelist():
                with archive.open(name) as packed, (folder / name).open("xb") as file:
                    shutil.copyfileobj(packed, file)


def _zipped(folder: Path) -> Path:
    packed = folder.with_suffix(".zip")
    with packed.open("xb") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in sorted(folder.iterdir()):
                archive.write(path, path.name)
        file.flush()
        os.fsync(file.fileno())
    return packed


def _not_written(failure: OSError) -> PanelError:
    return PanelError(
        "backup-not-written",
        say(
            "The backup could not be written (%(why)s), and there is none of this moment. Is "
            "there room, and may this account write there?",
            why=failure.strerror or str(failure),
        ),
        Fault.PLACE,
    )
