"""The columns of the bundle's tables: what a cell may hold, for the schema, the docs and the rows.

Written once, here; datapackage.json and docs/bundle.md are made from it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from panel.core.flow import Fate
from panel.core.methods import METHODS, method_named
from panel.core.names import CardStanding, Channel, Reason
from panel.core.nose_first import beside, cup_questions
from panel.core.outcomes import Group
from panel.core.plan import Plan
from panel.core.questions import Question, Words
from panel.core.side_questions import KNEW, ballot_questions

SMALLEST_GROUP = 5
"""Side answers of fewer tasters than these are left out: who sat there could tell whose they are.
A usual smallest cell in published tables (common practice, no source)."""

TABLE_SCHEMA = "https://datapackage.org/profiles/2.0/tableschema.json"

NOT_COUNTED = (Fate.SET_ASIDE, Fate.IN_QUESTION, Fate.LATE)
COUNTS_AS = (*(str(group) for group in Group), *(str(fate) for fate in NOT_COUNTED))


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column: a type of Table Schema 2.0, and what it says."""

    name: str
    type: str = "string"
    about: str
    required: bool = True
    words: tuple[str, ...] = ()  # every word that can stand here; () for any

    def field(self) -> dict[str, Any]:
        """As Table Schema writes it."""
        constraints: dict[str, Any] = {"required": True} if self.required else {}
        if self.words:
            constraints["enum"] = list(self.words)
        field = {"name": self.name, "type": self.type, "description": self.about}
        return {**field, "constraints": constraints} if constraints else field


@dataclass(frozen=True, kw_only=True)
class Table:
    """One table: its file is `name`.csv."""

    name: str
    about: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    of_trays: bool = True  # `tray` is a row of the table of trays

    def schema(self) -> dict[str, Any]:
        """As Table Schema writes it."""
        there = {"resource": "trays", "fields": ["tray"]}
        links = {"foreignKeys": [{"fields": ["tray"], "reference": there}]}
        return {
            "$schema": TABLE_SCHEMA,
            "fields": [column.field() for column in self.columns],
            "missingValues": [""],
            "primaryKey": list(self.key),
            **(links if self.of_trays else {}),
        }


TRAY = Column(name="tray", type="integer", about="The card's number, one for each tray drawn.")
SITTING = Column(name="sitting", about="The sitting's id, as in plan.json or comparison.json.")

TRAYS = Table(
    name="trays",
    about="Every tray that was drawn, used or not, and what became of it.",
    key=("tray",),
    of_trays=False,
    columns=(
        TRAY,
        Column(name="card", about="The same with its check letter, as it stands on the card."),
        SITTING,
        Column(name="wave", type="integer", about="The wave it was poured in, from 1."),
        Column(name="place", type="integer", about="Its place in the wave, from 1."),
        Column(name="spare", type="boolean", about="Drawn beyond the planned number."),
        Column(
            name="informed",
            type="boolean",
            about="In a split sitting: the lots had its taster told. Elsewhere always false.",
        ),
        Column(
            name="fate",
            words=tuple(str(fate) for fate in Fate),
            about="What became of it: `counted`; `told` (counted apart); `late`; `set-aside`; "
            "`in-question`; `no-ballot` (handed out, nothing came back); `unused`.",
        ),
        Column(
            name="standing",
            words=tuple(str(standing) for standing in CardStanding),
            about="Where its card stood when the comparison was closed.",
        ),
        Column(
            name="reason",
            required=False,
            words=tuple(str(reason) for reason in Reason),
            about="Why it was set aside, decided before closing.",
        ),
        Column(name="handed_out", type="boolean", about="Somebody noted that a taster got it."),
        Column(
            name="opened_early",
            type="boolean",
            about="Its taster looked at the own answer before closing (parcels, repeat trials).",
        ),
        Column(
            name="card_version", type="integer", about="1, and one more for each card printed anew."
        ),
    ),
)

CUPS = Table(
    name="cups",
    about="Every cup of every tray, with what it held.",
    key=("tray", "position"),
    columns=(
        TRAY,
        Column(name="position", type="integer", about="Its place on the tray, from 1, left first."),
        Column(name="code", about="Its three digits, as text."),
        Column(name="beer", about="The letter of what it held, as in plan.json."),
    ),
)

LATE = Table(
    name="late",
    about="Ballots that came after their sitting had closed, as the result lists them; no one is "
    "counted.",
    key=("number",),
    columns=(
        Column(name="number", type="integer", about="From 1, in the order in which they came."),
        TRAY,
        Column(name="received", type="datetime", about="When it came, in UTC, to the second."),
    ),
)

_BALLOT = (
    TRAY,
    SITTING,
    Column(
        name="counts_as",
        words=COUNTS_AS,
        about="The group in which it is counted; or why it is not: `set-aside`, `in-question`, "
        "`late`.",
    ),
    Column(
        name="channel",
        words=tuple(str(channel) for channel in Channel),
        about="How it came in.",
    ),
    Column(
        name="taster",
        required=False,
        about="Empty, except where one hand-out number (`n1`, `n2`, …) or nickname (`w1`, `w2`, "
        "…) stands on more than one tray, and in repeat trials: a made-up mark, so that it can be "
        "checked who was counted twice. Names are never given.",
    ),
    Column(
        name="knew",
        required=False,
        about="What its taster said of what they knew before the first cup, in any copy in time: "
        "words with a space between; empty where nothing was said.",
    ),
    Column(
        name="answer",
        required=False,
        about="The deciding answer: the codes chosen, in serving order, with a space between; "
        "`none` for a declared “no preference”. A ranking: the codes, first to last. A–not A: "
        "`482:yes` for a cup called A, `482:no` for one that was not. Same–different: `same` or "
        "`different`.",
    ),
)


BESIDE = Column(
    name="other_answer",
    required=False,
    about="Nose first: the answer of the step that does not decide, written as `answer` is; empty "
    "where it was not given.",
)


def side_questions(plan: Plan) -> tuple[Question, ...]:
    """The questions of a ballot that are not about which cup it is, nor about what was known."""
    asked = cup_questions(method_named(plan.method), plan)
    return tuple(
        question
        for question in ballot_questions(method_named(plan.method), plan)
        if question not in asked and question.id != KNEW.id
    )


def side_column(question: Question) -> Column:
    """The column of a side answer."""
    about = f"Side answer: “{question.short}”."
    if isinstance(question, Words):
        about += " Free words, as they were written; empty unless the organiser chose to give them."
    return Column(name=question.id.replace("-", "_"), required=False, about=about)


def ballots_table(plan: Plan) -> Table:
    """The table of ballots; its last columns are the side answers that the plan asks for."""
    other = (BESIDE,) if beside(method_named(plan.method), plan) else ()
    return _ballots((*other, *(side_column(question) for question in side_questions(plan))))


def _ballots(side: Iterable[Column]) -> Table:
    return Table(
        name="ballots",
        about="Every tray of which a ballot came in, once: the last copy in time, else the last "
        "late one. Who it was, and when, is not given.",
        key=("tray",),
        columns=(*_BALLOT, *side),
    )


def all_tables() -> tuple[Table, ...]:
    """The tables with every column that any plan may have, for the docs."""
    side: dict[str, Column] = {}
    for method in METHODS.values():
        plan = Plan(
            method=method.id,
            ask_sure=True,
            ask_went_by=True,
            ask_prefer=True,
            ask_words=True,
            attribute="bitter",
        )
        side |= {column.name: column for column in map(side_column, side_questions(plan))}
    return (_ballots((BESIDE, *side.values())), TRAYS, CUPS, LATE)
