"""From a bundle's files back to the values that findings are counted from.

Whatever cannot be read is a ValueError, KeyError or TypeError with a reason; check.py says it.
"""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from panel.core.allocation.check_letter import HIGHEST_CARD_NUMBER
from panel.core.allocation.dice import Dice, from_words
from panel.core.amendment import Amendment
from panel.core.ballot import Ballot, check_answers
from panel.core.comparison import Comparison, Cup, Seal, Sitting, Tray
from panel.core.methods import method_named
from panel.core.names import CardStanding, Channel, Paper, Reason, SittingStanding, Standing
from panel.core.nose_first import beside, cup_questions, deciding
from panel.core.plan_document import comparison_from, sitting_from
from panel.core.questions import Question
from panel.core.result import Result, result_of
from panel.core.side_questions import KNEW
from panel.core.sight_of_key import Sighted, sighted_from
from panel.publishing.bundle_columns import BESIDE, CUPS, LATE, TRAYS, Table, ballots_table
from panel.publishing.bundle_reading import json_of
from panel.publishing.bundle_tables import Counted
from panel.publishing.report.edition import Edition
from panel.publishing.static_page import OpenedSeal

SOME_MOMENT = datetime(2000, 1, 1, tzinfo=UTC)
"""Stands for moments that a bundle does not give, and that nothing is counted from."""

Row = Mapping[str, str]
_BOOLEANS = {"true": True, "false": False}


@dataclass(frozen=True, kw_only=True)
class Rebuilt:
    """What a bundle holds, as values. `edition` as comparison.json has it."""

    counted: Counted
    opened: OpenedSeal
    amendments: tuple[Amendment, ...]
    edition: Edition
    sighted: tuple[Sighted, ...] = ()

    @property
    def software(self) -> str:
        """What wrote it."""
        return self.edition.software

    @property
    def language(self) -> str:
        """That of its sentences."""
        return self.edition.language

    @property
    def comparison(self) -> Comparison:
        """The comparison itself."""
        return self.counted.comparison

    def result(self) -> Result:
        """The result, counted anew."""
        counted = self.counted
        return result_of(
            counted.comparison,
            counted.key,
            counted.trays,
            counted.ballots,
            self.amendments,
            revealed=counted.revealed,
            informed=counted.informed,
            sighted=self.sighted,
        )


def rebuilt(files: Mapping[str, bytes]) -> Rebuilt:
    """The values that lie in a bundle's files."""
    document, sealed = json_of(files["plan.json"]), json_of(files["sealed.json"])
    about = json_of(files["comparison.json"])
    comparison = _comparison(document, about)
    rows = rows_of(TRAYS, files["trays.csv"])
    cups = _cups(rows_of(CUPS, files["cups.csv"]))
    ballot_rows = rows_of(ballots_table(comparison.plan), files["ballots.csv"])
    tasters = {_number(row): _taster(row["taster"]) for row in ballot_rows}
    trays = _trays(comparison, rows, cups, tasters)
    informed = _marked(rows, "informed")
    key = {number: "".join(beer for _, beer in of_tray) for number, of_tray in cups.items()}
    late = rows_of(LATE, files["late.csv"])
    counted = Counted(
        comparison=comparison,
        key=key,
        trays=trays,
        ballots=tuple(_ballots(comparison, trays, ballot_rows, late)),
        revealed=_marked(rows, "opened_early"),
        informed=informed,
    )
    opened = OpenedSeal(
        document=document,
        secret=bytes.fromhex(sealed["secret"]),
        key=key,
        trays=trays,
        informed=informed,
        dice=_dice(sealed),
    )
    return Rebuilt(
        counted=counted,
        opened=opened,
        amendments=tuple(_amendment(words) for words in json_of(files["amendments.json"])),
        edition=_edition(about),
        sighted=sighted_from(about["who saw the key"]),
    )


def _edition(about: Mapping[str, Any]) -> Edition:
    """`address` and `paper` are not in what early versions wrote."""
    return Edition(
        link=str(about.get("address", "")),
        software=str(about["software"]),
        paper=Paper(about.get("paper", Paper.A4)),
        language=str(about["language"]),
    )


# --- the comparison -------------------------------------------------------------------------------


def _comparison(document: Mapping[str, Any], about: Mapping[str, Any]) -> Comparison:
    planned = comparison_from(document)
    if planned.plan.tasters > HIGHEST_CARD_NUMBER:
        raise ValueError("the plan asks for more tasters than there can be cards")
    if about["comparison"] != planned.id:
        raise ValueError("plan.json and comparison.json are of two comparisons")
    known = {sitting.id: sitting for sitting in planned.sittings}
    sittings = tuple(_sitting(words, known) for words in about["sittings"])
    if set(known) - {sitting.id for sitting in sittings}:
        raise ValueError("comparison.json lacks a sitting of the plan")
    seal = about["seal"]
    return replace(
        planned,
        sittings=sittings,
        standing=Standing.PUBLISHED if about["published"] else Standing.CLOSED,
        seal=Seal(digest=seal["digest"], made=_moment(seal["made"]) or SOME_MOMENT),
        closed=_moment(about["closed"]),
        published=_moment(about["published"]),
    )


def _sitting(words: Mapping[str, Any], known: Mapping[str, Sitting]) -> Sitting:
    planned = words["in the plan"]
    sitting = known[words["id"]] if planned else sitting_from(words["sitting"])
    if sitting.id != words["id"] or (not planned and sitting.id in known):
        raise ValueError("a sitting of comparison.json has two ids, or stands there twice")
    return replace(
        sitting,
        standing=SittingStanding(words["standing"]),
        opened=_moment(words["opened"]),
        closed=_moment(words["closed"]),
    )


def _moment(word: str | None) -> datetime | None:
    if word is None:
        return None
    moment = datetime.fromisoformat(word)
    if moment.tzinfo is None:
        raise ValueError(f"{word} has no time zone")
    return moment


def _dice(sealed: Mapping[str, Any]) -> Dice | None:
    return from_words(sealed["dice"]) if "dice" in sealed else None


def _amendment(words: Mapping[str, Any]) -> Amendment:
    return Amendment(
        number=words["number"],
        made=_moment(words["made"]) or SOME_MOMENT,
        what=words["what"],
        reason=words["reason"],
    )


# --- tables ---------------------------------------------------------------------------------------


def rows_of(table: Table, content: bytes) -> list[Row]:
    """The rows of a table, checked against its columns and its key."""
    reader = csv.DictReader(io.StringIO(content.decode("utf-8"), newline=""), strict=True)
    try:
        rows: list[Row] = list(reader)
    except csv.Error as error:
        raise ValueError(f"{table.name}.csv: {error}") from error
    names = [column.name for column in table.columns]
    if list(reader.fieldnames or ()) != names:
        raise ValueError(f"{table.name}.csv has other columns than {', '.join(names)}")
    for row in rows:
        if None in row or None in row.values():
            raise ValueError(f"{table.name}.csv has a row with too many or too few cells")
        for column in table.columns:
            if column.words and row[column.name] not in (*column.words, *_blank(column.required)):
                raise ValueError(f"{table.name}.csv: {column.name} cannot be “{row[column.name]}”")
    keys = [tuple(row[name] for name in table.key) for row in rows]
    if len(set(keys)) != len(keys):
        raise ValueError(f"{table.name}.csv has one {' and '.join(table.key)} twice")
    return rows


def _blank(required: bool) -> tuple[str, ...]:
    return () if required else ("",)


def _number(row: Row, name: str = "tray") -> int:
    """A whole number as this program writes it: no sign, no zeros before it."""
    word = row[name]
    if not (word.isascii() and word.isdecimal() and str(int(word[:9])) == word):
        raise ValueError(f"“{word}” is no number that {name} can have")
    return int(word)


def _marked(rows: Iterable[Row], name: str) -> frozenset[int]:
    return frozenset(_number(row) for row in rows if _BOOLEANS[row[name]])


def _cups(rows: Iterable[Row]) -> dict[int, list[tuple[str, str]]]:
    """Tray number to code and beer of each cup in serving order."""
    cups: dict[int, list[tuple[str, str]]] = {}
    for row in rows:
        of_tray = cups.setdefault(_number(row), [])
        if _number(row, "position") != len(of_tray) + 1 or len(row["beer"]) != 1:
            raise ValueError(f"cups.csv: the cups of tray {row['tray']} are not in order")
        of_tray.append((row["code"], row["beer"]))
    return cups


def _trays(
    comparison: Comparison,
    rows: Iterable[Row],
    cups: Mapping[int, list[tuple[str, str]]],
    tasters: Mapping[int, str],
) -> tuple[Tray, ...]:
    sittings = {sitting.id for sitting in comparison.sittings}
    trays = tuple(_tray(row, cups, tasters) for row in rows)
    numbers = [tray.number for tray in trays]
    if numbers != sorted(numbers):
        raise ValueError("trays.csv is not in the order of its numbers")
    if strange := {tray.sitting for tray in trays} - sittings:
        raise ValueError(f"trays.csv has a sitting that is not there: {min(strange)}")
    if set(cups) != set(numbers) or set(tasters) - set(numbers):
        raise ValueError("trays.csv lacks a tray of cups.csv or ballots.csv, or has one too many")
    return trays


def _tray(row: Row, cups: Mapping[int, list[tuple[str, str]]], tasters: Mapping[int, str]) -> Tray:
    number = _number(row)
    return Tray(
        number=number,
        sitting=row["sitting"],
        wave=_number(row, "wave"),
        place=_number(row, "place"),
        cups=tuple(Cup(place, code) for place, (code, _) in enumerate(cups[number], start=1)),
        spare=_BOOLEANS[row["spare"]],
        standing=CardStanding(row["standing"]),
        reason=Reason(row["reason"]) if row["reason"] else None,
        taster=tasters.get(number, ""),
        version=_number(row, "card_version"),
        handed_out=SOME_MOMENT if _BOOLEANS[row["handed_out"]] else None,
    )


def _taster(mark: str) -> str:
    """A name that does for counting what the mark stands for: a hand-out number or a nickname."""
    return mark.removeprefix("n")


# --- ballots --------------------------------------------------------------------------------------


def _ballots(
    comparison: Comparison, trays: Iterable[Tray], rows: Iterable[Row], late: Iterable[Row]
) -> Iterable[Ballot]:
    """One ballot in time for each row but late ones; and every late one, in the listed order."""
    codes = {tray.number: tray.codes() for tray in trays}
    ballots = {_number(row): _ballot(comparison, codes, row) for row in rows}
    as_late = {_number(row) for row in rows if row["counts_as"] == "late"}
    came_late = set()
    for row in late:
        number = _number(row)
        received = _moment(row["received"]) or SOME_MOMENT
        if number not in codes:
            raise ValueError(f"late.csv has a tray that is not there: {number}")
        came_late.add(number)
        given = ballots.get(number)
        yield Ballot(
            tray=number,
            channel=given.channel if given else Channel.KEYED,
            answers=given.answers if given else {},
            received=received + timedelta(microseconds=_number(row, "number")),
            late=True,
        )
    if as_late - came_late:
        raise ValueError("ballots.csv has a late ballot that is not in late.csv")
    for number, ballot in ballots.items():
        if number not in as_late:
            yield ballot


def _ballot(comparison: Comparison, codes: Mapping[int, tuple[str, ...]], row: Row) -> Ballot:
    """The ballot of a row, held to what any ballot must be; side answers decide nothing here."""
    plan, number = comparison.plan, _number(row)
    method = method_named(plan.method)
    decides, other = deciding(method, plan), beside(method, plan)
    channel = Channel(row["channel"])
    given = {KNEW.id: tuple(row["knew"].split()), decides.id: tuple(row["answer"].split())}
    if other is not None:
        given[other.id] = tuple(row[BESIDE.name].split())
    asked: tuple[Question, ...] = (KNEW, *cup_questions(method, plan))
    answers = check_answers(asked, codes[number], given, decides.id, Channel.KEYED)
    return Ballot(tray=number, channel=channel, answers=answers, received=SOME_MOMENT)
