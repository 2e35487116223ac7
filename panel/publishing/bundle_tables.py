"""The rows of the bundle's tables, and their CSV.

No name, no moment of a ballot, no free words unless chosen; of small groups no side answers.
"""

import csv
import io
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from panel.core.allocation.check_letter import card_number
from panel.core.ballot import Ballot
from panel.core.comparison import Comparison, Key, Tray
from panel.core.flow import Fate, fate_of
from panel.core.methods import method_named
from panel.core.names import SittingKind
from panel.core.nose_first import beside, deciding
from panel.core.outcomes import Group, known_before, outcomes_of, same_name
from panel.core.plan_document import moment_words
from panel.core.questions import Asked, Question, Words
from panel.core.result import Late
from panel.publishing.bundle_columns import (
    BESIDE,
    CUPS,
    LATE,
    SMALLEST_GROUP,
    TRAYS,
    Table,
    ballots_table,
    side_column,
    side_questions,
)

STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What makes a spreadsheet take a cell for a formula."""

Row = dict[str, str]


@dataclass(frozen=True, kw_only=True)
class Counted:
    """Everything from which findings are counted. `revealed`, `informed`: numbers of trays."""

    comparison: Comparison
    key: Key
    trays: tuple[Tray, ...]
    ballots: tuple[Ballot, ...]
    revealed: frozenset[int] = frozenset()
    informed: frozenset[int] = frozenset()


def tables(
    counted: Counted, late: Iterable[Late], *, free_words: bool
) -> tuple[tuple[Table, list[Row]], ...]:
    """Each table with its rows; the late ballots as the result lists them."""
    fates = fates_of(counted)
    return (
        (ballots_table(counted.comparison.plan), ballot_rows(counted, free_words=free_words)),
        (TRAYS, [_tray_row(counted, tray, fates[tray.number]) for tray in _sorted(counted)]),
        (CUPS, list(_cup_rows(counted))),
        (LATE, [_late_row(number, one) for number, one in enumerate(late, start=1)]),
    )


def csv_bytes(table: Table, rows: Iterable[Mapping[str, str]]) -> bytes:
    """A table as RFC 4180 has it, in UTF-8. A cell that a spreadsheet would take for a formula
    gets an apostrophe before it; only free words can need one."""
    text = io.StringIO(newline="")
    names = [column.name for column in table.columns]
    writer = csv.DictWriter(text, names, lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({name: disarmed(cell) for name, cell in row.items()})
    return text.getvalue().encode("utf-8")


def disarmed(cell: str) -> str:
    """The cell so that no spreadsheet computes it."""
    return f"'{cell}" if cell.lstrip(" ").startswith(STARTS_FORMULA) else cell


# --- trays and cups -------------------------------------------------------------------------------


def _sorted(counted: Counted) -> list[Tray]:
    return sorted(counted.trays, key=lambda tray: tray.number)


def _tray_row(counted: Counted, tray: Tray, fate: Fate) -> Row:
    return {
        "tray": str(tray.number),
        "card": card_number(tray.number),
        "sitting": tray.sitting,
        "wave": str(tray.wave),
        "place": str(tray.place),
        "spare": _boolean(tray.spare),
        "informed": _boolean(tray.number in counted.informed),
        "fate": str(fate),
        "standing": str(tray.standing),
        "reason": str(tray.reason or ""),
        "handed_out": _boolean(tray.handed_out is not None),
        "opened_early": _boolean(tray.number in counted.revealed),
        "card_version": str(tray.version),
    }


def _cup_rows(counted: Counted) -> Iterator[Row]:
    for tray in _sorted(counted):
        for cup, beer in zip(tray.cups, counted.key[tray.number], strict=True):
            yield {
                "tray": str(tray.number),
                "position": str(cup.position),
                "code": cup.code,
                "beer": beer,
            }


def _late_row(number: int, late: Late) -> Row:
    return {"number": str(number), "tray": str(late.tray), "received": moment_words(late.received)}


def _boolean(value: bool) -> str:
    return "true" if value else "false"


# --- ballots --------------------------------------------------------------------------------------


def groups_of(counted: Counted) -> dict[int, Group]:
    """Tray number to the group in which its ballot is counted."""
    outcomes = outcomes_of(
        counted.comparison, counted.key, counted.trays, counted.ballots, counted.informed
    )
    return {judged.tray: stratum.group for stratum in outcomes.strata for judged in stratum.ballots}


def fates_of(counted: Counted) -> dict[int, Fate]:
    """Tray number to what became of it."""
    groups = groups_of(counted)
    came = {ballot.tray for ballot in counted.ballots if not ballot.late}
    late = {ballot.tray for ballot in counted.ballots if ballot.late}
    return {
        tray.number: fate_of(
            tray,
            in_time=tray.number in came,
            late=tray.number in late,
            told=groups.get(tray.number) is Group.TOLD,
        )
        for tray in counted.trays
    }


def ballot_rows(counted: Counted, *, free_words: bool) -> list[Row]:
    """One row for each tray with a ballot, by number."""
    copies: dict[int, list[Ballot]] = defaultdict(list)
    for ballot in sorted(counted.ballots, key=lambda one: (one.received, one.revision)):
        copies[ballot.tray].append(ballot)
    groups, fates = groups_of(counted), fates_of(counted)
    trays = {tray.number: tray for tray in counted.trays}
    marks = _marks(counted.comparison, [trays[number] for number in sorted(copies)])
    rows = []
    for number in sorted(copies):
        as_what = str(groups.get(number) or fates[number])
        rows.append(_ballot_row(counted, trays[number], copies[number], as_what, marks))
    sides = side_questions(counted.comparison.plan)
    if not free_words:
        sides = tuple(question for question in sides if not isinstance(question, Words))
    _add_sides(rows, {row["tray"]: _shown(copies[int(row["tray"])]) for row in rows}, sides)
    return rows


def _shown(copies: Sequence[Ballot]) -> Ballot:
    """The last copy in time, else the last late one."""
    in_time = [ballot for ballot in copies if not ballot.late]
    return (in_time or list(copies))[-1]


def _ballot_row(
    counted: Counted, tray: Tray, copies: Sequence[Ballot], as_what: str, marks: Mapping[int, str]
) -> Row:
    plan = counted.comparison.plan
    ballot = _shown(copies)
    in_time = [copy for copy in copies if not copy.late]
    knew = known_before(in_time or [ballot])
    method = method_named(plan.method)
    other = beside(method, plan)
    second = {BESIDE.name: _codes(ballot, other)} if other else {}
    return {
        "tray": str(tray.number),
        "sitting": tray.sitting,
        "counts_as": as_what,
        "channel": str(ballot.channel),
        "taster": marks.get(tray.number, ""),
        "knew": " ".join(map(str, knew)),
        "answer": _codes(ballot, deciding(method, plan)),
        **second,
    }


def _codes(ballot: Ballot, question: Asked) -> str:
    return " ".join(ballot.answers.get(question.id, ()))


def _add_sides(
    rows: Sequence[Row], ballots: Mapping[str, Ballot], sides: Iterable[Question]
) -> None:
    """Side answers where at least five tasters of a sitting count alike and say the same of what
    they knew. Trays of repeat trials are counted by tasters: a taster alone is a group of one."""
    tasters: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for row in rows:
        repeat = row["counts_as"] == Group.REPEAT
        tasters[_group(row)].add(row["taster"] if repeat else row["tray"])
    for row in rows:
        if len(tasters[_group(row)]) >= SMALLEST_GROUP:
            answers = ballots[row["tray"]].answers
            row |= {side_column(one).name: " ".join(answers.get(one.id, ())) for one in sides}


def _group(row: Row) -> tuple[str, ...]:
    return row["sitting"], row["counts_as"], row["knew"]


def _marks(comparison: Comparison, trays: Iterable[Tray]) -> dict[int, str]:
    """Tray number to a made-up mark, where one number or nickname stands on several trays."""
    repeats = {one.id for one in comparison.sittings if one.kind is SittingKind.REPEAT}
    names = {tray.number: _name(tray, tray.sitting in repeats) for tray in trays}
    often = Counter(name for name in names.values() if name)
    given: dict[tuple[str, ...], str] = {}
    marks = {}
    for number in sorted(names):
        name = names[number]
        if name and (name[0] == "w-repeat" or often[name] > 1):
            given.setdefault(name, f"{name[0][0]}{len(given) + 1}")
            marks[number] = given[name]
    return marks


def _name(tray: Tray, repeat: bool) -> tuple[str, ...]:
    """What two trays have alike if one name stands on both; () where there is none. A hand-out
    number counts from 1 in its sitting; a nickname is the same wherever it stands."""
    name = tray.taster.strip()
    if not name:
        return ()
    if repeat:
        return "w-repeat", tray.sitting, same_name(name)
    if name.isdecimal():
        return "n", tray.sitting, name.lstrip("0")
    return "w", same_name(name)
