"""The archive: what this guild has published, to be searched and laid side by side.

Nothing that is not published comes through here, not even as a number.
"""

from dataclasses import dataclass

from panel.core import archive
from panel.core.archive import Topic, Wish
from panel.core.comparison import Comparison
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, Speak, say
from panel.core.methods import METHODS
from panel.core.side_by_side import Apart, Entry, Side, side_by_side
from panel.core.wording import say_finding
from panel.core.wording.side_by_side import say_apart
from panel.publishing.figures import Figure, forest_chart
from panel.services import show_result
from panel.services.workplace import Workplace
from panel.store import comparisons as comparisons_store

ON_A_PAGE = 50
MOST_SIDE_BY_SIDE = 40
"""Comparisons on one picture, the last published ones: fewer than are kept reckoned."""


@dataclass(frozen=True, kw_only=True)
class Shelf:
    """One page of what was found, the last published first. `page` counts from 1 to `pages`;
    `published` is how many there are to be searched; the rest is what can be looked for."""

    found: tuple[Comparison, ...]
    total: int
    page: int
    pages: int
    published: int
    drinks: tuple[str, ...]
    methods: tuple[tuple[str, Message], ...]
    topics: tuple[Topic, ...]

    @property
    def variables(self) -> tuple[str, ...]:
        """What was changed, each as it was last written."""
        return archive.variables(self.topics)

    def beside(self, known: Comparison) -> int:
        """How many comparisons share the variable and drink of one, itself among them."""
        own = archive.topic_of(known)
        return next(
            (
                topic.comparisons
                for topic in self.topics
                if (archive.folded(topic.drink), archive.folded(topic.variable)) == own
            ),
            1,
        )


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """One information with its picture; `lines` are the comparisons of the table's rows, None for
    a row of several together."""

    side: Side
    figure: Figure
    lines: tuple[Comparison | None, ...]


@dataclass(frozen=True, kw_only=True)
class Other:
    """A finding without a place on the picture: why, and what was counted."""

    entry: Entry
    why: Message
    said: tuple[Message, ...]


@dataclass(frozen=True, kw_only=True)
class Beside:
    """One variable in one drink, as last written. `comparisons`: how many are published of it,
    `left_out` the older ones that do not stand here."""

    drink: str
    variable: str
    comparisons: int
    left_out: int
    drawn: tuple[Drawn, ...]
    others: tuple[Other, ...]


def look(at: Workplace, wish: Wish, page: int = 1) -> Shelf:
    """A page of the published comparisons that fit a wish; beyond the last page, the last."""
    with at.units.read() as session:
        published = comparisons_store.published(session)
    found = archive.matching(published, wish)
    pages = max(1, -(-len(found) // ON_A_PAGE))
    page = min(max(1, page), pages)
    drinks = {archive.folded(known.drink): known.drink for known in reversed(published)}
    used = {known.plan.method for known in published}
    return Shelf(
        found=found[(page - 1) * ON_A_PAGE : page * ON_A_PAGE],
        total=len(found),
        page=page,
        pages=pages,
        published=len(published),
        drinks=tuple(drinks[word] for word in sorted(drinks) if word),
        methods=tuple((name, METHODS[name].name) for name in METHODS if name in used),
        topics=archive.topics(published),
    )


def variables(at: Workplace) -> tuple[str, ...]:
    """What was changed in published comparisons, each as it was last written."""
    with at.units.read() as session:
        published = comparisons_store.published(session)
    return archive.variables(archive.topics(published))


def beside(at: Workplace, drink: str, variable: str, speak: Speak) -> Beside:
    """The findings of one variable side by side; PanelError (fault MISSING) if there is none."""
    with at.units.read() as session:
        every = archive.of_topic(comparisons_store.published(session), drink, variable)
        shown = every[:MOST_SIDE_BY_SIDE]
        found = [(known, show_result.findings(session, at, known)) for known in shown]
    if not every:
        raise PanelError(
            "no-such-variable",
            say("Nothing is published of this variable. The archive lists what there is."),
            Fault.MISSING,
        )
    laid = side_by_side(found)
    return Beside(
        drink=every[0].drink,
        variable=every[0].variable,
        comparisons=len(every),
        left_out=len(every) - len(shown),
        drawn=tuple(_drawn(side, speak) for side in laid.sides),
        others=tuple(_other(entry, reason) for entry, reason in laid.others),
    )


def _drawn(side: Side, speak: Speak) -> Drawn:
    lines: list[Comparison | None] = []
    for together in side.designs:
        lines += [entry.comparison for entry in together.entries]
        lines += [None] if together.combined is not None else []
    return Drawn(side=side, figure=forest_chart(side, speak), lines=tuple(lines))


def _other(entry: Entry, reason: Apart) -> Other:
    said = say_finding(entry.finding, entry.comparison).lead
    return Other(entry=entry, why=say_apart(reason), said=said)
