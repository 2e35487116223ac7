"""Ballots and findings: everything counted anew and held against what was published."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from panel import __version__
from panel.core.message import Message, Speak, say, say_n
from panel.core.methods import method_named
from panel.core.nose_first import beside
from panel.publishing.bundle import json_bytes
from panel.publishing.bundle_columns import BESIDE, LATE, TRAYS, Table, ballots_table
from panel.publishing.bundle_reading import json_of
from panel.publishing.bundle_rebuilt import Rebuilt, Row, rows_of
from panel.publishing.bundle_tables import ballot_rows, tables
from panel.publishing.check_line import CheckLine, right, wrong
from panel.publishing.schema import result_words

SENTENCES = frozenset({"said", "title", "text"})
"""Fields of findings.json that hold sentences."""


def check_ballots(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[CheckLine]:
    """Every row stands in the group, and every tray met the end, that its facts lead to."""
    bad = list(_otherwise(files, known))
    yield from (wrong("ballots", message) for message in bad)
    if not bad:
        count = len(ballot_rows(known.counted, free_words=False))
        yield right(
            "ballots",
            say_n(
                "The one ballot has an answer that its tray allows, and stands in its group.",
                "All %(count)s ballots have answers that their trays allow, and stand in their "
                "groups.",
                count,
            ),
        )


def _otherwise(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[Message]:
    result = known.result()
    made = {table.name: rows for table, rows in tables(known.counted, result.late, free_words=True)}
    decide = {"tray", "sitting", "counts_as", "channel", "knew", "answer"}
    plan = known.comparison.plan
    if beside(method_named(plan.method), plan) is not None:
        decide.add(BESIDE.name)
    for table in (ballots_table(plan), TRAYS, LATE):
        names = decide if table.name == "ballots" else {column.name for column in table.columns}
        given = rows_of(table, files[f"{table.name}.csv"])
        yield from _rows_differ(table, names, given, made[table.name])


def _rows_differ(
    table: Table, names: set[str], given: Sequence[Row], made: Sequence[Row]
) -> Iterator[Message]:
    if len(given) != len(made):
        yield say(
            "%(table)s.csv has %(given)s rows where %(made)s follow from the rest.",
            table=table.name,
            given=len(given),
            made=len(made),
        )
    for one, other in zip(given, made, strict=False):
        odd = [name for name in sorted(names) if one[name] != other[name]]
        if odd:
            yield say(
                "%(table)s.csv, tray %(tray)s: %(name)s is “%(given)s”, and “%(made)s” follows "
                "from the rest.",
                table=table.name,
                tray=one["tray"],
                name=odd[0],
                given=one[odd[0]],
                made=other[odd[0]],
            )
            return


def check_findings(files: Mapping[str, bytes], known: Rebuilt, speak: Speak) -> Iterator[CheckLine]:
    """Numbers to the last digit, then sentences to the letter. A field that is not there at all in
    what another version wrote is no difference: that version may not have known it."""
    given = json_of(files["findings.json"])
    made = json_of(json_bytes(result_words(known.result(), known.comparison, speak)))
    other = known.software != f"panel {__version__}"
    found = _differences(made, given, "findings.json")
    differences = [one for one in found if not (other and one.lacking)]
    numbers = [one for one in differences if not one.sentence]
    if numbers:
        yield wrong(
            "findings",
            say(
                "%(where)s is %(given)s; counted anew it is %(made)s.",
                where=numbers[0].where,
                given=numbers[0].given,
                made=numbers[0].made,
            ),
        )
    else:
        count = len(made["findings"])
        yield right(
            "findings",
            say_n(
                "The one finding, counted anew from ballots, key and plan, is the same to the "
                "last digit.",
                "The %(count)s findings, counted anew from ballots, key and plan, are the same to "
                "the last digit.",
                count,
            ),
        )
    yield _sentences([one for one in differences if one.sentence], known)


class _Difference:
    """Where two values differ, in words."""

    def __init__(self, where: str, made: Any, given: Any, *, lacking: bool = False) -> None:
        self.where = where
        self.lacking = lacking  # the field is not in what was given
        self.made = _short(made)
        self.given = _short(given)
        self.sentence = bool(SENTENCES & set(where.replace("[", ".").split(".")))


def _short(value: Any) -> str:
    text = repr(value) if isinstance(value, str | int | float | None) else type(value).__name__
    return text if len(text) <= 60 else f"{text[:57]}…"


def _differences(made: Any, given: Any, where: str) -> Iterator[_Difference]:
    """Every place where two JSON values differ: 1, 1.0 and true are three values."""
    if type(made) is not type(given):
        yield _Difference(where, made, given)
    elif isinstance(made, dict):
        for name in sorted(made.keys() | given.keys()):
            if name not in made or name not in given:
                lacking = name not in given
                yield _Difference(
                    f"{where}.{name}", made.get(name), given.get(name), lacking=lacking
                )
            else:
                yield from _differences(made[name], given[name], f"{where}.{name}")
    elif isinstance(made, list):
        if len(made) != len(given):
            yield _Difference(f"{where}[]", len(made), len(given))
        for place, (one, other) in enumerate(zip(made, given, strict=False)):
            yield from _differences(one, other, f"{where}[{place}]")
    elif made != given:
        yield _Difference(where, made, given)


def _sentences(differences: list[_Difference], known: Rebuilt) -> CheckLine:
    here = f"panel {__version__}"
    if not differences:
        return right("sentences", say("Every sentence is the one that these numbers lead to."))
    if known.software != here:
        return wrong(
            "sentences",
            say(
                "%(where)s is worded otherwise than %(here)s words it; it was written by "
                "%(software)s. Check the sentences with that version.",
                where=differences[0].where,
                here=here,
                software=known.software,
            ),
        )
    return wrong(
        "sentences",
        say(
            "%(where)s is not the sentence that these numbers lead to: %(given)s.",
            where=differences[0].where,
            given=differences[0].given,
        ),
    )
