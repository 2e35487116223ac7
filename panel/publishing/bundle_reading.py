"""A bundle as somebody handed it over: an archive or a folder, opened with care.

Nobody knows who packed it. Sizes are limited before anything is unpacked, names may lead nowhere
else, and what is read is held to be nothing but bytes until it has been checked.
"""

import io
import json
import stat
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any, NoReturn

from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.publishing.bundle import DESCRIPTOR
from panel.publishing.static_page import BUNDLE

MEGABYTE = 2**20
LARGEST_BUNDLE = 32 * MEGABYTE
LARGEST_FILE = 16 * MEGABYTE
LARGEST_WHOLE = 48 * MEGABYTE
MOST_FILES = 500
"""The largest comparison there can be (9999 trays of four cups) needs about 10 megabytes."""


@dataclass(frozen=True, kw_only=True)
class Handed:
    """The bundle's files by name; `beside` those that lie beside it in a published folder."""

    files: dict[str, bytes]
    beside: dict[str, bytes] = field(default_factory=dict)


def handed(source: bytes | Path) -> Handed:
    """The files of a bundle: the bytes of a ZIP, its file, its unpacked folder, or the folder that
    `panel publish` wrote, which holds one.

    PanelError "no-bundle", "bundle-too-large", "bundle-unsafe" or "bundle-damaged".
    """
    if isinstance(source, bytes):
        return Handed(files=_unpacked(source))
    if source.is_file():
        _refuse_large(source.stat().st_size, LARGEST_BUNDLE)
        return Handed(files=_unpacked(source.read_bytes()))
    if not source.is_dir():
        _refuse(
            "no-bundle",
            say("There is no file or folder %(name)s here. Type its whole path.", name=source.name),
        )
    files = dict(_lying(source))
    if DESCRIPTOR in files:
        return Handed(files=files)
    if BUNDLE in files:
        _refuse_large(len(files[BUNDLE]), LARGEST_BUNDLE)
        return Handed(files=_unpacked(files.pop(BUNDLE)), beside=files)
    return _not_one(source.name)


def json_of(content: bytes) -> Any:
    """JSON as this program writes it; ValueError for anything else, NaN and deep nesting too."""
    try:
        return json.loads(content.decode("utf-8"), parse_constant=_no_constant)
    except RecursionError as error:
        raise ValueError("nested too deeply") from error


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")


# --- archives -------------------------------------------------------------------------------------


def _unpacked(content: bytes) -> dict[str, bytes]:
    _refuse_large(len(content), LARGEST_BUNDLE)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as pack:
            entries = [entry for entry in pack.infolist() if not entry.is_dir()]
            _check_entries(entries)
            files = {entry.filename: _read(pack, entry) for entry in entries}
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise _damaged(str(error)) from error
    except ValueError as error:  # zlib and zipfile on lengths and names that cannot be
        raise _damaged(str(error)) from error
    if DESCRIPTOR not in files:
        return _not_one(BUNDLE)
    return files


def _check_entries(entries: list[zipfile.ZipInfo]) -> None:
    if len(entries) > MOST_FILES:
        _too_large()
    _refuse_large(max((entry.file_size for entry in entries), default=0), LARGEST_FILE)
    _refuse_large(sum(entry.file_size for entry in entries), LARGEST_WHOLE)
    names = [entry.filename for entry in entries]
    if len({name.casefold() for name in names}) != len(names):
        _unsafe(say("two of its files have one name"))
    for entry in entries:
        if not _plain_name(entry.filename):
            _unsafe(say("“%(name)s” leads out of it", name=entry.filename))
        if stat.S_ISLNK(entry.external_attr >> 16):
            _unsafe(say("“%(name)s” is a link", name=entry.filename))
        if entry.flag_bits & 0x1:
            _unsafe(say("“%(name)s” is encrypted", name=entry.filename))


def _read(pack: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """An entry's bytes; never more than its header admits, which has been checked."""
    with pack.open(entry) as file:
        content = file.read(entry.file_size + 1)
    if len(content) != entry.file_size:
        raise _damaged(f"{entry.filename} is not as long as it says")
    return content


def _plain_name(name: str) -> bool:
    path = PurePosixPath(name)
    odd = "\\" in name or ":" in name or "\0" in name
    return bool(name) and not odd and not path.is_absolute() and ".." not in path.parts


# --- folders --------------------------------------------------------------------------------------


def _lying(folder: Path) -> Iterator[tuple[str, bytes]]:
    """The files of a folder; links are not followed."""
    whole = 0
    for count, path in enumerate(_paths(folder), start=1):
        size = path.stat().st_size
        whole += size
        if count > MOST_FILES:
            _too_large()
        _refuse_large(size, LARGEST_FILE if path.name != BUNDLE else LARGEST_BUNDLE)
        _refuse_large(whole, LARGEST_WHOLE + LARGEST_BUNDLE)
        yield path.relative_to(folder).as_posix(), path.read_bytes()


def _paths(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.iterdir()):
        if path.is_symlink():
            _unsafe(say("“%(name)s” is a link", name=path.name))
        if path.is_dir():
            yield from _paths(path)
        elif path.is_file():
            yield path


# --- refusals -------------------------------------------------------------------------------------


def _refuse(code: str, message: Message) -> NoReturn:
    raise PanelError(code, message, Fault.INPUT, field="bundle")


def _not_one(name: str) -> NoReturn:
    _refuse(
        "no-bundle",
        say(
            "%(name)s is no bundle: there is no %(file)s in it. Name the file %(bundle)s that is "
            "published with a result, or the folder that “panel publish” wrote.",
            name=name,
            file=DESCRIPTOR,
            bundle=BUNDLE,
        ),
    )


def _refuse_large(size: int, limit: int) -> None:
    if size > limit:
        _too_large()


def _too_large() -> NoReturn:
    _refuse(
        "bundle-too-large",
        say(
            "This is larger than any bundle can be, packed or unpacked, and was not opened. Fetch "
            "it again from where it was published."
        ),
    )


def _unsafe(why: Message) -> NoReturn:
    _refuse(
        "bundle-unsafe",
        say(
            "This was not packed by Panel and was not opened: %(why)s. Fetch the bundle again from "
            "where it was published.",
            why=why,
        ),
    )


def _damaged(why: str) -> PanelError:
    return PanelError(
        "bundle-damaged",
        say(
            "This is no ZIP file, or a damaged one (%(why)s). Fetch it again from where it was "
            "published.",
            why=why,
        ),
        Fault.INPUT,
        field="bundle",
    )
