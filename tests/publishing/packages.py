"""Bundles taken apart, changed and put together again, as somebody who means harm would."""

import hashlib
import io
import json
import zipfile
from collections.abc import Callable
from typing import Any

from panel.publishing.bundle import zipped

Files = dict[str, bytes]
DESCRIPTOR = "datapackage.json"


def unpacked(bundle: bytes) -> Files:
    """The files of a ZIP, by the standard library alone."""
    with zipfile.ZipFile(io.BytesIO(bundle)) as pack:
        return {name: pack.read(name) for name in pack.namelist()}


def with_text(files: Files, name: str, old: str, new: str, *, listed: bool = True) -> bytes:
    """The bundle with a text in one file replaced where it stands first. It must be there."""
    text = files[name].decode()
    assert old in text, f"{old!r} is not in {name}"
    return with_file(files, name, text.replace(old, new, 1).encode(), listed=listed)


def with_json(files: Files, name: str, change: Callable[[Any], None]) -> bytes:
    """The bundle with a JSON file changed in place."""
    words = json.loads(files[name])
    before = json.dumps(words)
    change(words)
    assert json.dumps(words) != before, "nothing was changed"
    return with_file(files, name, json.dumps(words, ensure_ascii=False, indent=2).encode() + b"\n")


def with_file(files: Files, name: str, content: bytes, *, listed: bool = True) -> bytes:
    """The bundle with another file; listed: datapackage.json says so, hash and length."""
    changed = {**files, name: content}
    return relisted(changed) if listed else zipped(changed)


def relisted(files: Files) -> bytes:
    """The bundle with every hash in datapackage.json as it now must be."""
    words = json.loads(files[DESCRIPTOR])
    for one in words["resources"]:
        content = files[one["path"]]
        one["hash"] = f"sha256:{hashlib.sha256(content).hexdigest()}"
        one["bytes"] = len(content)
    return zipped({**files, DESCRIPTOR: json.dumps(words).encode()})
