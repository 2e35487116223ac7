"""The published data as one ZIP that anybody can check: a Data Package (version 2.0).

The same data give the same bytes: names in one order, one date, nothing compressed (compressors
differ). docs/bundle.md describes every file and column, docs/checking.md how to check.
"""

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from panel.core.comparison import Comparison
from panel.core.errors import PanelError
from panel.core.licences import DEFAULT, LICENCES
from panel.core.message import Speak, say
from panel.core.plan_document import moment_words
from panel.core.record import Record
from panel.core.result import Result
from panel.core.sight_of_key import sighted_words
from panel.publishing.bundle_columns import Table
from panel.publishing.bundle_facts import (
    amendments_words,
    comparison_words,
    draw_files,
    record_words,
)
from panel.publishing.bundle_readme import readme
from panel.publishing.bundle_tables import Counted, csv_bytes, tables
from panel.publishing.report.edition import Edition
from panel.publishing.schema import result_words
from panel.publishing.static_page import OpenedSeal

DESCRIPTOR = "datapackage.json"
PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The date of every file in the archive: the first that a ZIP can hold."""


ABOUT = {
    "README.txt": "What this is and how to check it.",
    "plan.json": "The plan, as it was sealed before serving.",
    "sealed.json": "What was sealed, byte for byte: the SHA-256 of this file is the seal.",
    "comparison.json": "The seal, when it was made and opened, and every sitting held.",
    "amendments.json": "What was changed after sealing, with reasons.",
    "records.json": "The record's hash chain up to publication, without who sent which ballot.",
    "findings.json": "The result as numbers and sentences.",
}
ABOUT_DRAW = "All that the draw of one sitting follows from."


@dataclass(frozen=True, kw_only=True)
class Published:
    """A published comparison, whole. `lines`: its chain of the record from the first on."""

    result: Result
    counted: Counted
    opened: OpenedSeal
    lines: tuple[Record, ...] = ()

    @property
    def comparison(self) -> Comparison:
        """The comparison itself."""
        return self.counted.comparison


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What the organiser chooses: a licence of LICENCES, and whether free words are given (of
    groups large enough). `edition`: which program wrote the bundle, in which language the
    sentences are, where the result stands and on which paper its report is."""

    edition: Edition
    licence: str = DEFAULT
    free_words: bool = False


def bundle_bytes(published: Published, choice: Choice, speak: Speak = str) -> bytes:
    """The whole archive."""
    return zipped(bundle_files(published, choice, speak))


def bundle_files(published: Published, choice: Choice, speak: Speak = str) -> dict[str, bytes]:
    """Every file of the bundle by its name, the descriptor first.

    speak says sentences in the edition's language. PanelError "unknown-licence".
    """
    check_licence(choice.licence)
    comparison, opened, result = published.comparison, published.opened, published.result
    about = comparison_words(comparison, opened, choice.edition)
    about["who saw the key"] = sighted_words(result.sighted)
    files = {
        "README.txt": readme(comparison, result, choice.licence).encode(),
        "plan.json": json_bytes(opened.document),
        "sealed.json": opened.sealed_bytes(),
        "comparison.json": json_bytes(about),
        "amendments.json": json_bytes(amendments_words(result.amendments)),
        "records.json": json_bytes(record_words(comparison.id, published.lines)),
        "findings.json": json_bytes(result_words(result, comparison, speak)),
        **{name: json_bytes(facts) for name, facts in draw_files(comparison, opened)},
    }
    listed = [resource(name, content) for name, content in files.items()]
    for table, rows in tables(published.counted, result.late, free_words=choice.free_words):
        name = f"{table.name}.csv"
        files[name] = csv_bytes(table, rows)
        listed.append(resource(name, files[name], table))
    return {DESCRIPTOR: json_bytes(_descriptor(published, choice, listed)), **files}


def check_licence(licence: str) -> None:
    """PanelError unless the licence is one of those known here."""
    if licence not in LICENCES:
        raise PanelError(
            "unknown-licence",
            say(
                "“%(licence)s” is no licence that is known here. Choose one of %(known)s.",
                licence=licence,
                known=", ".join(LICENCES),
            ),
            field="licence",
        )


def json_bytes(value: Any) -> bytes:
    """A file of JSON that people can read too."""
    return json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False).encode() + b"\n"


def zipped(files: Mapping[str, bytes]) -> bytes:
    """The files as an archive that depends on nothing else."""
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_STORED) as pack:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, EARLIEST)
            entry.create_system = 3
            entry.external_attr = 0o100644 << 16
            pack.writestr(entry, content)
    return archive.getvalue()


# --- the descriptor -------------------------------------------------------------------------------

_KINDS = {
    "csv": "text/csv",
    "json": "application/json",
    "txt": "text/plain",
}


def resource(path: str, content: bytes, table: Table | None = None) -> dict[str, Any]:
    """A file as datapackage.json lists it."""
    stem, _, kind = path.rpartition(".")
    words: dict[str, Any] = {
        "name": stem.lower().replace("/", "-"),
        "path": path,
        "description": table.about if table else ABOUT.get(path, ABOUT_DRAW),
        "format": kind,
        "mediatype": _KINDS[kind],
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
    }
    return {**words, "type": "table", "schema": table.schema()} if table else words


def _descriptor(
    published: Published, choice: Choice, listed: list[dict[str, Any]]
) -> dict[str, Any]:
    comparison, seal = published.comparison, published.comparison.seal
    title, path = LICENCES[choice.licence]
    words: dict[str, Any] = {
        "$schema": PROFILE,
        "name": f"panel-{comparison.id}",
        "id": seal.digest if seal else comparison.id,
        "title": comparison.title,
        "description": "A difference test: who was served what, what they answered, and what it "
        "can bear. The id is the seal.",
        "licenses": [{"name": choice.licence, "title": title, "path": path}],
    }
    if comparison.published is not None:
        words["created"] = moment_words(comparison.published)
    if comparison.organised_by:
        words["contributors"] = [{"title": comparison.organised_by, "roles": ["organiser"]}]
    return {**words, "resources": listed}
