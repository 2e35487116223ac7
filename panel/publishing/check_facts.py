"""What nothing is counted from: it must still be what this program writes, and nothing beside."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from panel import __version__
from panel.core.ballot import check_answers
from panel.core.deeds import OF_ONE_TRAY, Deed
from panel.core.message import Message, say
from panel.core.names import CardStanding, Channel, Reason, SittingKind
from panel.core.plan_document import sitting_hash
from panel.core.questions import Words
from panel.core.sight_of_key import sighted_words
from panel.publishing.bundle_columns import TRAYS, ballots_table, side_column, side_questions
from panel.publishing.bundle_facts import RECORD_FORMAT, VERSION, comparison_words
from panel.publishing.bundle_reading import json_of
from panel.publishing.bundle_readme import readme
from panel.publishing.bundle_rebuilt import Rebuilt, rows_of
from panel.publishing.check_line import CheckLine, right, wrong

_MARK = re.compile(r"[nw][1-9][0-9]*")
_HASHED = {"sequence", "what", "told", "hash"}
_WHOLE = {"sequence", "what", "at", "role", "who", "subject", "detail", "hash"}


def check_facts(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[CheckLine]:
    """comparison.json, records.json, README.txt, and the columns that decide nothing."""
    bad = [
        *_comparison(files, known),
        *_records(files),
        *_added(files, known),
        *_trays(files),
        *_ballots(files, known),
        *_readme(files, known),
    ]
    yield from (wrong("facts", message) for message in bad)
    if not bad:
        yield right(
            "facts", say("What nothing is counted from is as it is written, with nothing beside.")
        )


def _comparison(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[Message]:
    made = comparison_words(known.comparison, known.opened, known.edition)
    made["who saw the key"] = sighted_words(known.sighted)
    given = json_of(files["comparison.json"])
    for name in sorted(made.keys() | given.keys()):
        if name not in made or name not in given or made[name] != given[name]:
            yield say("comparison.json: “%(field)s” is not as it is written.", field=name)


def _records(files: Mapping[str, bytes]) -> Iterator[Message]:
    words: Mapping[str, Any] = json_of(files["records.json"])
    names = {"format", "version", "chain", "count", "head", "lines"}
    if words.keys() != names or (words["format"], words["version"]) != (RECORD_FORMAT, VERSION):
        yield say("records.json is no record of this kind.")
    for place, line in enumerate(words["lines"], start=1):
        if line.keys() != (_HASHED if line["what"] in OF_ONE_TRAY else _WHOLE):
            yield say("Line %(line)s of records.json has other fields.", line=place)
            return


def _added(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[Message]:
    """A sitting added after sealing is in no seal: the record holds the hash of its words."""
    sealed = {sitting["id"] for sitting in known.opened.document["sittings"]}
    hashes = {
        line["subject"]: json_of(line["detail"].encode()).get("words", "")
        for line in json_of(files["records.json"])["lines"]
        if line["what"] == Deed.SITTING_ADDED
    }
    for sitting in known.comparison.sittings:
        if sitting.id not in sealed and hashes.get(sitting.id) != sitting_hash(sitting):
            yield say(
                "The sitting “%(sitting)s” is not in the plan, and the record tells of another.",
                sitting=sitting.name,
            )


def _trays(files: Mapping[str, bytes]) -> Iterator[Message]:
    rows = rows_of(TRAYS, files["trays.csv"])
    lines = Counter(line["what"] for line in json_of(files["records.json"])["lines"])
    for row in rows:
        unused = row["standing"] == CardStanding.PRINTED or row["reason"] == Reason.NEVER_USED
        if unused and row["handed_out"] == "true":
            yield say("trays.csv: tray %(tray)s was never used and handed out.", tray=row["tray"])
    versions = sum(int(row["card_version"]) - 1 for row in rows)
    out, early = (
        sum(row[name] == "true" for row in rows) for name in ("handed_out", "opened_early")
    )
    if (
        versions != lines[Deed.CARD_REPRINTED]
        or out > lines[Deed.HANDED_OUT]
        or early > lines[Deed.TRAY_REVEALED]
    ):
        yield say("trays.csv tells of more cards printed, handed out or opened than the record.")


def _ballots(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[Message]:
    plan = known.comparison.plan
    rows = rows_of(ballots_table(plan), files["ballots.csv"])
    codes = {str(tray.number): tray.codes() for tray in known.counted.trays}
    asked = [one for one in side_questions(plan) if not isinstance(one, Words)]
    repeats = {one.id for one in known.comparison.sittings if one.kind is SittingKind.REPEAT}
    often = Counter(row["taster"] for row in rows)
    for row in rows:
        for question in asked:
            given = {question.id: tuple(row[side_column(question).name].split())}
            check_answers((question,), codes[row["tray"]], given, "", Channel.KEYED)
        mark = row["taster"]
        twice = often[mark] > 1 or row["sitting"] in repeats
        if mark and not (_MARK.fullmatch(mark) and twice):
            yield say("ballots.csv: “%(mark)s” is no mark of a taster counted twice.", mark=mark)


def _readme(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[Message]:
    licence = json_of(files["datapackage.json"])["licenses"][0]["name"]
    made = readme(known.comparison, known.result(), licence).encode()
    if made == files["README.txt"]:
        return
    here = f"panel {__version__}"
    if known.software == here:
        yield say("README.txt is not what these data lead to.")
    else:
        yield say(
            "README.txt is worded otherwise than %(here)s words it; it was written by "
            "%(software)s. Check it with that version.",
            here=here,
            software=known.software,
        )
