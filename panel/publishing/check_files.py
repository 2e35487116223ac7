"""Every file of a bundle against datapackage.json: nothing changed, missing or put in."""

import hashlib
from collections.abc import Iterator, Mapping
from typing import Any

from panel.core.licences import LICENCES
from panel.core.message import Message, say, say_n
from panel.publishing.bundle import DESCRIPTOR, PROFILE
from panel.publishing.bundle_columns import Table, all_tables
from panel.publishing.bundle_reading import Handed, json_of
from panel.publishing.check_line import CheckLine, right, wrong

ITEM = "files"


def check_files(pack: Handed) -> Iterator[CheckLine]:
    """A line for each file that is not as listed, or one for all of them."""
    try:
        descriptor = json_of(pack.files[DESCRIPTOR])
        listed = {one["path"]: one for one in descriptor["resources"]}
    except (ValueError, KeyError, TypeError):
        yield wrong(ITEM, say("%(file)s cannot be read.", file=DESCRIPTOR))
        return
    bad = list(_strange(pack.files, listed)) + list(_of_package(descriptor))
    if not bad:
        yield right(
            ITEM,
            say_n(
                "The one file is as it was packed (SHA-256).",
                "All %(count)s files are as they were packed (SHA-256).",
                len(listed),
            ),
        )
    for message in bad:
        yield wrong(ITEM, message)


def _strange(files: Mapping[str, bytes], listed: Mapping[str, Any]) -> Iterator[Message]:
    for name in sorted(listed.keys() - files.keys()):
        yield say("%(name)s is listed and missing.", name=str(name))
    for name in sorted(files.keys() - listed.keys() - {DESCRIPTOR}):
        yield say("%(name)s is not listed: somebody put it in.", name=name)
    for name in sorted(files.keys() & listed.keys()):
        words = listed[name]
        digest = hashlib.sha256(files[name]).hexdigest()
        if not isinstance(words, dict) or words.get("hash") != f"sha256:{digest}":
            yield say("%(name)s was changed: its SHA-256 is another.", name=name)
        elif words.get("bytes") != len(files[name]):
            yield say("%(name)s is not as long as is listed.", name=name)
        elif not _described(name, words):
            yield say("The columns of %(name)s are not described as Panel does.", name=name)


def _described(name: str, words: Mapping[str, Any]) -> bool:
    """Whether a table's columns mean here what they mean to this program; words may differ."""
    table = {f"{table.name}.csv": table for table in all_tables()}.get(name)
    if table is None:
        return "schema" not in words
    try:
        given = [(field["name"], field["type"]) for field in words["schema"]["fields"]]
    except (KeyError, TypeError):
        return False
    return _in_order(given, table) and words["schema"].get("primaryKey") == list(table.key)


def _in_order(given: list[tuple[str, str]], table: Table) -> bool:
    """All columns of the table in their order; of ballots some side answers may not be asked."""
    known = [(column.name, column.type) for column in table.columns]
    return given == [one for one in known if one in given]


def _of_package(descriptor: Mapping[str, Any]) -> Iterator[Message]:
    if descriptor.get("$schema") != PROFILE:
        yield say("%(file)s is no Data Package of version 2.0.", file=DESCRIPTOR)
    licences = descriptor.get("licenses")
    names = [one.get("name") for one in licences] if isinstance(licences, list) else []
    if len(names) != 1 or names[0] not in LICENCES:
        yield say("%(file)s names no licence that Panel knows.", file=DESCRIPTOR)
