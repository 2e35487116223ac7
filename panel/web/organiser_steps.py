"""The evening as a list of steps: which are done, which is next, and what each still lacks.

The same list stands in the margin of every page of a comparison; the last sentence of
`next_of` stands in the list of all comparisons.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from flask import url_for

from panel.core.comparison import Comparison, Sitting
from panel.core.message import Message, Moment, say, say_n
from panel.core.names import SittingStanding, Standing
from panel.services import close_and_unseal, seal_comparison, settle_ballots
from panel.services.seal_comparison import Readiness
from panel.services.settle_ballots import Outstanding
from panel.services.sitting_counts import SittingCount, sitting_counts
from panel.services.workplace import Actor, Workplace


class State(StrEnum):
    """Where a step stands; the words are classes of the style sheet."""

    DONE = "done"
    NOW = "now"
    LATER = "later"


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of the evening. `lacks` says what is missing, or how it stands; `sitting` is the id
    of the sitting it belongs to, `address` the page on which it is done."""

    name: str
    title: Message
    state: State
    lacks: tuple[Message, ...] = ()
    address: str = ""
    sitting: str = ""


@dataclass(frozen=True)
class Progress:
    """How far a comparison has come, as its organiser may know it."""

    comparison: Comparison
    readiness: Readiness | None
    counts: tuple[SittingCount, ...]
    outstanding: Outstanding | None
    still_open: tuple[Message, ...]

    def count(self, sitting_id: str) -> SittingCount:
        """The numbers of one sitting."""
        return next(count for count in self.counts if count.sitting.id == sitting_id)


def progress_of(at: Workplace, actor: Actor, known: Comparison) -> Progress:
    """How far a comparison has come."""
    if known.standing is Standing.DRAFTED:
        found = seal_comparison.readiness_of(known, at.now())
        return Progress(known, found, (), None, ())
    counts = sitting_counts(at, actor, known.id)
    if known.standing is not Standing.SERVING:
        return Progress(known, None, counts, None, ())
    return Progress(
        known,
        None,
        counts,
        settle_ballots.outstanding(at, actor, known.id),
        close_and_unseal.still_open(at, actor, known.id),
    )


def next_of(known: Comparison, now: datetime) -> Message:
    """What is next for a comparison, in one sentence."""
    match known.standing:
        case Standing.DRAFTED:
            return _before_sealing(seal_comparison.readiness_of(known, now))
        case Standing.SEALED:
            return say("Sealed. Print the kit, then open the sitting.")
        case Standing.SERVING:
            return _while_serving(known)
        case Standing.CLOSED:
            return say("Closed and unsealed. Read the findings, then publish them.")
        case Standing.PUBLISHED:
            return say("Published. Members can read the result.")


def steps_of(progress: Progress) -> tuple[Step, ...]:
    """All steps, in the order in which they are done."""
    known = progress.comparison
    return (
        _question(progress),
        _seal(progress),
        _print(known),
        *(_sitting(progress, sitting) for sitting in known.sittings),
        _settle(progress),
        _close(progress),
        _findings(known),
        _publish(known),
    )


def _question(progress: Progress) -> Step:
    known = progress.comparison
    found = progress.readiness
    lacks: tuple[Message, ...] = ()
    if found is not None and found.blocking:
        lacks = (_things_missing(len(found.blocking)),)
    drafted = known.standing is Standing.DRAFTED
    return Step(
        name="question",
        title=say("Ask the question"),
        state=State.NOW if lacks else State.DONE,
        lacks=lacks,
        address=url_for("organiser_question.page", comparison=known.id) if drafted else "",
    )


def _seal(progress: Progress) -> Step:
    known, found = progress.comparison, progress.readiness
    title = say("Check it and seal it")
    address = url_for("organiser_check.page", comparison=known.id)
    if known.seal is not None:
        zone = known.sittings[0].zone if known.sittings else "UTC"
        sealed = say("Sealed on %(moment)s.", moment=Moment(known.seal.made, zone))
        return Step(name="seal", title=title, state=State.DONE, lacks=(sealed,), address=address)
    assert found is not None  # a comparison without a seal is a draft
    if found.blocking:
        return Step(name="seal", title=title, state=State.LATER, address=address)
    lacks = (_words_tell(len(found.leaks)) if found.leaks else say("Ready to be sealed."),)
    return Step(name="seal", title=title, state=State.NOW, lacks=lacks, address=address)


def _print(known: Comparison) -> Step:
    title = say("Print the kit")
    if known.standing is Standing.DRAFTED:
        return Step(name="print", title=title, state=State.LATER)
    return Step(
        name="print",
        title=title,
        state=State.NOW if known.standing is Standing.SEALED else State.DONE,
        address=url_for("organiser_print.page", comparison=known.id),
    )


def _sitting(progress: Progress, sitting: Sitting) -> Step:
    known = progress.comparison
    when = say("%(moment)s.", moment=Moment(sitting.starts, sitting.zone))
    address = url_for("organiser.evening", comparison=known.id, _anchor=f"sitting-{sitting.id}")
    state: State = State.LATER
    lacks: tuple[Message, ...] = (when,)
    if known.standing is Standing.DRAFTED:
        address = url_for("organiser_sittings.page", comparison=known.id, sitting=sitting.id)
    elif sitting.standing is SittingStanding.PREPARED:
        state = State.NOW
        lacks = (when, say("Not opened yet."))
    elif sitting.standing is SittingStanding.SERVING:
        state, lacks = State.NOW, (ballots_in(progress.count(sitting.id)),)
    else:
        off, count = say("It did not take place."), progress.count(sitting.id)
        state, lacks = State.DONE, (off if sitting.not_held else ballots_in(count),)
    return Step(
        name="sitting",
        title=say("Hold “%(name)s”", name=sitting.name),
        state=state,
        lacks=lacks,
        address=address,
        sitting=sitting.id,
    )


def _settle(progress: Progress) -> Step:
    known, open_things = progress.comparison, progress.outstanding
    title = say("Settle what is open")
    if open_things is None:
        past = known.standing in (Standing.CLOSED, Standing.PUBLISHED)
        return Step(name="settle", title=title, state=State.DONE if past else State.LATER)
    lacks = tuple(_open_things(open_things))
    held = all(sitting.standing is SittingStanding.CLOSED for sitting in known.sittings)
    waiting = bool(open_things.questions) or (held and bool(lacks))
    return Step(
        name="settle",
        title=title,
        state=State.NOW if waiting else State.DONE if held else State.LATER,
        lacks=lacks if held else lacks[:1] if open_things.questions else (),
        address=url_for("organiser_settle.page", comparison=known.id),
    )


def _close(progress: Progress) -> Step:
    known = progress.comparison
    state = {
        Standing.SERVING: State.LATER if progress.still_open else State.NOW,
        Standing.CLOSED: State.DONE,
        Standing.PUBLISHED: State.DONE,
    }.get(known.standing, State.LATER)
    lacks: tuple[Message, ...] = ()
    if known.standing is Standing.SERVING:
        lacks = progress.still_open or (say("Everything is in. It can be closed."),)
    return Step(
        name="close",
        title=say("Close and unseal"),
        state=state,
        lacks=lacks,
        address=url_for("organiser.evening", comparison=known.id, _anchor="close")
        if known.standing is Standing.SERVING
        else "",
    )


def _findings(known: Comparison) -> Step:
    opened = known.standing in (Standing.CLOSED, Standing.PUBLISHED)
    return Step(
        name="findings",
        title=say("Read the findings"),
        state=State.LATER
        if not opened
        else State.NOW
        if known.standing is Standing.CLOSED
        else State.DONE,
        address=url_for("organiser_findings.page", comparison=known.id) if opened else "",
    )


def _publish(known: Comparison) -> Step:
    states = {Standing.CLOSED: State.NOW, Standing.PUBLISHED: State.DONE}
    opened = known.standing in states
    return Step(
        name="publish",
        title=say("Publish"),
        state=states.get(known.standing, State.LATER),
        address=url_for("organiser_findings.page", comparison=known.id, _anchor="publish")
        if opened
        else "",
    )


def ballots_in(count: SittingCount) -> Message:
    """How many ballots are in, never what they say."""
    return say_n(
        "1 ballot in, of %(planned)s trays planned.",
        "%(count)s ballots in, of %(planned)s trays planned.",
        count.ballots,
        planned=count.sitting.planned,
    )


def _open_things(open_things: Outstanding) -> Iterator[Message]:
    if open_things.questions:
        yield say_n(
            "1 ballot is in question.",
            "%(count)s ballots are in question.",
            len(open_things.questions),
        )
    rest = len(open_things.not_returned) + len(open_things.never_used)
    if rest:
        yield say_n("1 tray has no ballot.", "%(count)s trays have no ballot.", rest)


def _before_sealing(found: Readiness) -> Message:
    if found.blocking:
        return _things_missing(len(found.blocking))
    return _words_tell(len(found.leaks)) if found.leaks else say("Ready to be sealed.")


def _while_serving(known: Comparison) -> Message:
    for sitting in known.sittings:
        if sitting.standing is SittingStanding.SERVING:
            return say("“%(name)s” is open. Close it when the last card is in.", name=sitting.name)
    for sitting in known.sittings:
        if sitting.standing is SittingStanding.PREPARED:
            return say(
                "Next is “%(name)s”, %(moment)s.",
                name=sitting.name,
                moment=Moment(sitting.starts, sitting.zone),
            )
    return say("Every sitting is closed. Settle what is open, then close and unseal.")


def _things_missing(count: int) -> Message:
    return say_n(
        "1 thing is missing before it can be sealed.",
        "%(count)s things are missing before it can be sealed.",
        count,
    )


def _words_tell(count: int) -> Message:
    return say_n(
        "1 word would tell blinded tasters what was changed.",
        "%(count)s words would tell blinded tasters what was changed.",
        count,
    )
