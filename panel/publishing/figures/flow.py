"""What became of the trays, from the draw to the count, with everything that fell away."""

from panel.core.drawing import Anchor, Drawing, Face, Ink, Line, Shape, Text
from panel.core.flow import Flow
from panel.core.kinds import AnyFinding
from panel.core.message import Message, Speak, say
from panel.core.names import Reason
from panel.core.outcomes import Group
from panel.core.result import Result
from panel.publishing.figures.figure import SIZE, WIDTH, Figure, label

STEM, ASIDE = 13.0, 36.0
"""Millimetres: the line that the trays go down, and where the words of what fell away begin."""

STEP, LINE = 13.0, 4.6

REASONS: dict[Reason, Message] = {
    Reason.NEVER_USED: say("never used"),
    Reason.NOT_RETURNED: say("not returned"),
    Reason.MISFILLED: say("misfilled"),
    Reason.SPILLED: say("spilled"),
    Reason.SAW: say("saw a label or the pour mat"),
    Reason.TALKED: say("talked"),
    Reason.ILL: say("felt ill"),
    Reason.UNREADABLE: say("could not be read"),
    Reason.REVEALED: say("opened in an emergency"),
    Reason.OTHER: say("another reason"),
}

GROUPS: dict[Group, Message] = {
    Group.BLINDED: say("blinded"),
    Group.INFORMED: say("informed"),
    Group.TOLD: say("told at the table"),
    Group.REPEAT: say("repeat trials"),
}


def flow_chart(result: Result, speak: Speak) -> Figure:
    """The flow of all trays. The table has one row for each number in the drawing."""
    stages = _stages(result.flow)
    counted = _counted(result)
    shapes: list[Shape] = []
    y = 6.0
    for word, trays, fallen in stages:
        shapes += _stage(y, speak(word), trays)
        below = y + max(STEP, LINE * (len(fallen) + 1) + 3.0)
        shapes.append(_down(y + 1.8, below - 5.2))
        shapes += _fallen(y + 1.8, below - 5.2, fallen, speak)
        y = below
    for place, (word, trays) in enumerate(counted):
        shapes += _stage(y + place * (LINE + 1.6), speak(word), trays)
    bottom = y + max(0, len(counted) - 1) * (LINE + 1.6) + 3.0
    drawing = Drawing(
        width=WIDTH,
        height=bottom,
        shapes=tuple(shapes),
        title=speak(say("What became of the trays")),
        description=speak(
            say(
                "%(drawn)s trays drawn, %(out)s handed out, %(counted)s counted",
                drawn=result.flow.drawn,
                out=result.flow.handed_out,
                counted=result.flow.counted + result.flow.told,
            )
        ),
    )
    return Figure(drawing, (speak(say("Trays")), speak(say("Count"))), _rows(result, speak))


Stage = tuple[Message, int, tuple[tuple[Message, int], ...]]
"""A word, how many trays came so far, and what fell away before the next stage."""


def _stages(flow: Flow) -> tuple[Stage, ...]:
    return (
        (say("drawn"), flow.drawn, _some((say("never needed"), flow.unused))),
        (say("used"), flow.used, _aside(flow.set_aside_before)),
        (
            say("handed out"),
            flow.handed_out,
            _some((say("not returned"), flow.gone), (say("no ballot so far"), flow.without_ballot)),
        ),
        (
            say("returned"),
            flow.returned,
            (
                *_aside(flow.reasons_after),
                *_some(
                    (say("came after closing"), flow.late),
                    (say("still in question"), flow.in_question),
                ),
            ),
        ),
    )


def _some(*counts: tuple[Message, int]) -> tuple[tuple[Message, int], ...]:
    return tuple(count for count in counts if count[1])


Fallen = tuple[tuple[Message, int], ...]


def _aside(reasons: tuple[tuple[Reason, int], ...]) -> Fallen:
    return tuple((REASONS[reason], trays) for reason, trays in reasons)


def _counted(result: Result) -> list[tuple[Message, int]]:
    """Ballots counted by group, the empty groups left out."""
    totals: dict[Group, int] = {}
    for finding in result.findings:
        totals[finding.group] = totals.get(finding.group, 0) + ballots_of(finding)
    return [
        (say("counted: %(group)s", group=GROUPS[group]), trays)
        for group, trays in totals.items()
        if trays
    ] or [(say("counted"), 0)]


def ballots_of(finding: AnyFinding) -> int:
    """All counted ballots of a finding: those who chose, and declared no preference."""
    return finding.tasters + finding.no_choice


def _stage(y: float, word: str, trays: int) -> tuple[Shape, ...]:
    return (
        Text(
            x=STEM + 3.0,
            y=y,
            text=str(trays),
            size=SIZE + 3.0,
            face=Face.BOLD,
            anchor=Anchor.END,
        ),
        Text(x=STEM + 5.0, y=y, text=word, size=SIZE, ink=Ink.INK),
    )


def _down(top: float, bottom: float) -> Line:
    return Line(x1=STEM, y1=top, x2=STEM, y2=bottom, ink=Ink.SOFT, width=0.3)


def _fallen(top: float, bottom: float, fallen: Fallen, speak: Speak) -> list[Shape]:
    if not fallen:
        return []
    middle = (top + bottom) / 2
    first = middle - (len(fallen) - 1) * LINE / 2
    shapes: list[Shape] = [
        Line(x1=STEM, y1=middle, x2=ASIDE - 1.5, y2=middle, ink=Ink.SOFT, width=0.3)
    ]
    for place, (word, trays) in enumerate(fallen):
        words = f"{trays} {speak(word)}"
        shapes.append(label(ASIDE, first + place * LINE + 1.2, words, Anchor.START))
    return shapes


def _rows(result: Result, speak: Speak) -> tuple[tuple[str, ...], ...]:
    rows: list[tuple[str, ...]] = []
    for word, trays, fallen in _stages(result.flow):
        rows.append((speak(word), str(trays)))
        rows += [(f"– {speak(one)}", str(many)) for one, many in fallen]
    rows += [(speak(word), str(trays)) for word, trays in _counted(result)]
    return tuple(rows)
