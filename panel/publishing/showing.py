"""The result told to a room, one screen at a time: the seal, the envelope, the cups, what it means.

What is shown is the page's own: its sentences, its figures, its rosette. Each step fills a screen
and waits for a tap, so that a room can look, guess and compare before it goes on.
"""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from panel.core.comparison import Comparison
from panel.core.drawing import Circle, Drawing, Group, Ink, Shape
from panel.core.findings import Finding
from panel.core.kinds import AnyFinding
from panel.core.message import Message, Moment, Speak, say, say_n
from panel.core.methods import method_named
from panel.core.result import Result
from panel.core.rosette import rosette
from panel.core.typed_address import typed
from panel.core.wording import say_difference, say_finding
from panel.core.wording.counts import ahead, guessing
from panel.printing.link_code import link_code
from panel.publishing import conditions
from panel.publishing.kinds import chart_of, guesses_of
from panel.publishing.picture import larger_type

SEAL = 60.0
"""Millimetres of a rosette's drawing; a screen shows it as large as it has room."""

BEATS = 24
"""In how many beats the cups are filled at most: one at a time as far as that goes."""

CUP = 10.0
WIDE = 2.6
"""A cup's pitch in millimetres, and how much wider than high the field of cups is."""

MOST_GROUPS = 4
"""Charts on one screen; every group stands on the page."""

LARGER = 1.25
"""How much larger the type of charts is set for the last row."""


@dataclass(frozen=True)
class Captioned:
    """A drawing with its words under it."""

    drawing: Drawing
    words: tuple[Message, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Screen:
    """One step. `over`: what is shown; `said`: the sentence in large; `then`: what follows from
    it; `points`: a short list; `shown`: drawings side by side; `digits`: of a seal, below them;
    `kind`: a word for the style sheet."""

    name: str
    over: Message
    said: tuple[Message, ...]
    then: tuple[Message, ...] = ()
    points: tuple[Message, ...] = ()
    shown: tuple[Captioned, ...] = ()
    digits: str = ""
    beside: Message | None = None
    kind: str = ""


@dataclass(frozen=True)
class Doors:
    """Where a stub is looked up: here, as long as this machine runs; and for good, "" if here."""

    here: str
    lasting: str = ""


def screens(
    result: Result, comparison: Comparison, made_again: str, doors: Doors, speak: Speak = str
) -> tuple[Screen, ...]:
    """Every step in its order. made_again: the digest of what lay under the seal, computed now."""
    return tuple(_screens(result, comparison, made_again, doors, speak))


def _screens(
    result: Result, comparison: Comparison, made_again: str, doors: Doors, speak: Speak
) -> Iterator[Screen]:
    if result.seal is not None:
        yield _sealed(result.seal.digest, result, comparison)
        yield _opened(result.seal.digest, made_again)
    yield _question(comparison)
    main = result.main
    if main is None:
        yield Screen(name="nobody", over=say("The count"), said=(say("No sitting was held."),))
        return
    if isinstance(main, Finding) and main.tasters:
        yield _before_the_count(main)
        yield _count(main, result, comparison)
    else:
        yield _count_as_figure(main, comparison, speak)
    yield from _guessing(main, comparison, speak)
    yield from _knowing(result, comparison, speak)
    yield _meaning(result, comparison)
    yield _stub(doors, published=comparison.published is not None)


# --- the seal -------------------------------------------------------------------------------------


def _sealed(digest: str, result: Result, comparison: Comparison) -> Screen:
    assert result.seal is not None  # the caller has looked
    made = Moment(result.seal.made, conditions.zone(comparison))
    said = say("This was shown before the first cup.")
    if not result.seal.before_serving:
        said = say("This seal was made after a sitting had opened.")
    return Screen(
        name="seal",
        over=say("The seal"),
        said=(said,),
        then=(
            say("Which cup holds what was drawn by lot and locked on %(made)s.", made=made),
            say("Compare it with the poster, and with the foot of your card."),
        ),
        shown=(Captioned(_rosette(digest)),),
        digits=digest[:8],
        kind="seal",
    )


def _opened(digest: str, made_again: str) -> Screen:
    """The envelope: the same figure made again from what lay in it."""
    holds = digest == made_again
    said = say("Opened, and made again from plan, draw and secret: it is the same.")
    then = say("So nothing was changed since the seal was made: not the plan, and not one cup.")
    if not holds:
        said = say("Opened, and made again from plan, draw and secret: it is another one.")
        then = say(
            "Something was changed, or a file was damaged. Do not believe this result before that "
            "is explained."
        )
    return Screen(
        name="envelope",
        over=say("The envelope"),
        said=(said,),
        then=(then,),
        shown=(
            Captioned(_rosette(digest), (say("shown before"), _digits(digest))),
            Captioned(_rosette(made_again), (say("made again now"), _digits(made_again))),
        ),
        kind="seal" if holds else "seal broken",
    )


def _digits(digest: str) -> Message:
    eights = " ".join(digest[start : start + 8] for start in range(0, len(digest), 8))
    return say("%(digits)s", digits=eights)


def _rosette(digest: str) -> Drawing:
    figure = rosette(bytes.fromhex(digest), SEAL)
    centred = Group(shapes=figure.shapes, x=SEAL / 2, y=SEAL / 2)
    return Drawing(width=SEAL, height=SEAL, shapes=(centred,))


# --- question and count ---------------------------------------------------------------------------


def _question(comparison: Comparison) -> Screen:
    method = method_named(comparison.plan.method)
    beers = tuple(
        say("%(letter)s: %(name)s, %(value)s", letter=beer.letter, name=beer.name, value=beer.value)
        if beer.value
        else say("%(letter)s: %(name)s", letter=beer.letter, name=beer.name or beer.letter)
        for beer in comparison.beers
    )
    return Screen(
        name="question",
        over=say("What was in the cups"),
        said=(say("%(title)s", title=comparison.title),),
        then=(method.in_a_sentence,),
        points=beers,
    )


def _before_the_count(main: Finding) -> Screen:
    """The cups still empty: the room may guess."""
    asked = say_n(
        "One choice was counted. How many were right?",
        "%(count)s choices were counted. How many were right?",
        main.tasters,
    )
    if main.sides == 2:
        asked = say_n(
            "One choice was counted. How did it fall?",
            "%(count)s choices were counted. How did they fall?",
            main.tasters,
        )
    return Screen(
        name="guess",
        over=say("Before you look"),
        said=(asked,),
        then=guessing(main),
        shown=(Captioned(cups(main.tasters, 0, "")),),
        kind="cups still",
    )


def _count(main: Finding, result: Result, comparison: Comparison) -> Screen:
    filled = main.correct if main.sides == 1 else ahead(main, comparison)[2]
    said = say_finding(main, comparison)
    salt = result.seal.digest if result.seal is not None else comparison.id
    return Screen(
        name="count",
        over=say("The count"),
        said=said.lead[:-1] if len(said.lead) > 1 else said.lead,
        shown=(Captioned(cups(main.tasters, filled, salt)),),
        kind="cups counted",
    )


def _count_as_figure(main: AnyFinding, comparison: Comparison, speak: Speak) -> Screen:
    """The count where it is no number of right cups: its own figure."""
    figure = chart_of(main, comparison, speak)
    shown = () if figure is None else (Captioned(larger_type(figure.drawing, LARGER)),)
    said = say_finding(main, comparison)
    return Screen(
        name="count",
        over=say("The count"),
        said=said.lead[:1],
        then=said.lead[1:],
        shown=shown,
        kind="chart" if shown else "",
    )


def cups(many: int, filled: int, salt: str) -> Drawing:
    """So many rings, so many of them full, in beats of one or more.

    They stand in no order of people: which places are full follows from the salt alone.
    """
    order = sorted(range(many), key=lambda n: hashlib.sha256(f"{salt} {n}".encode()).digest())
    full = frozenset(order[:filled])
    columns = max(1, min(many, round((WIDE * many) ** 0.5)))
    rows = -(-many // columns)
    beats = min(BEATS, many)
    shapes: list[Shape] = []
    for beat in range(beats):
        places = range(beat * many // beats, (beat + 1) * many // beats)
        shapes.append(Group(shapes=tuple(_cup(n, columns, n in full) for n in places)))
    title = ""
    if salt:
        title = f"{filled} / {many}"
    return Drawing(width=columns * CUP, height=rows * CUP, shapes=tuple(shapes), title=title)


def _cup(place: int, columns: int, full: bool) -> Shape:
    x, y = (place % columns + 0.5) * CUP, (place // columns + 0.5) * CUP
    if full:
        return Circle(x=x, y=y, radius=0.38 * CUP, stroke=Ink.BLUE, fill=Ink.BLUE, width=0.9)
    return Circle(x=x, y=y, radius=0.36 * CUP, stroke=Ink.SOFT, fill=None, width=0.5)


# --- what it can bear -----------------------------------------------------------------------------


def _guessing(main: AnyFinding, comparison: Comparison, speak: Speak) -> Iterable[Screen]:
    figure = guesses_of(main, comparison, speak)
    if figure is None or not isinstance(main, Finding):
        return
    yield Screen(
        name="guessing",
        over=say("Where guessing lies"),
        said=guessing(main),
        then=(
            say(
                "The bars show how often each count would come up if nobody could tell. The full "
                "bar is this evening's."
            ),
        ),
        shown=(Captioned(larger_type(figure.drawing, LARGER)),),
        kind="chart",
    )


def _knowing(result: Result, comparison: Comparison, speak: Speak) -> Iterable[Screen]:
    """Those who were told beside those who were not; nothing where there is one group."""
    main = result.main
    if main is None or len(result.findings) < 2:
        return
    shown = []
    for finding in result.findings:
        figure = chart_of(finding, comparison, speak)
        if figure is not None:
            name = conditions.group_name(finding, comparison)
            counted = say_finding(finding, comparison).lead[0]
            shown.append(Captioned(larger_type(figure.drawing, LARGER), (name, counted)))
    yield Screen(
        name="told",
        over=say("Told against not told") if result.differences else say("Every group by itself"),
        said=(say("Each group is counted by itself, and never added to another."),),
        then=_left_out(len(shown) - MOST_GROUPS),
        shown=tuple(shown[:MOST_GROUPS]),
        kind="charts",
    )
    for one in result.differences:
        sentences = say_difference(one, main, comparison)
        first = 3 if sentences[0].id.endswith(":") else 1  # of which tasters, how many, how much
        yield Screen(
            name="knowing",
            over=say("What knowing does"),
            said=tuple(sentences[:first]),
            then=tuple(sentences[first:]),
            kind="knowing",
        )


def _left_out(groups: int) -> tuple[Message, ...]:
    if groups <= 0:
        return ()
    return (
        say_n(
            "One more group stands on the page.",
            "%(count)s more groups stand on the page.",
            groups,
        ),
    )


def _meaning(result: Result, comparison: Comparison) -> Screen:
    main = result.main
    assert main is not None  # the caller has looked
    said = say_finding(main, comparison)
    return Screen(
        name="meaning",
        over=say("What it means"),
        said=said.then[:1] or said.lead,
        then=said.then[1:],
        points=tuple(caution.title for caution in result.cautions),
        kind="meaning",
    )


def _stub(doors: Doors, *, published: bool) -> Screen:
    said = say("Every cup of yours stands there, with what it held.")
    if not published:
        said = say("As soon as it is published, every cup of yours stands there.")
    lasting = None
    if doors.lasting:
        lasting = say("For good: %(address)s", address=typed(doors.lasting))
    return Screen(
        name="stub",
        over=say("Now check your stub"),
        said=(said,),
        then=(
            say(
                "Your card's code opens your own answer; its number and the three digits on a cup "
                "find the cup. The figure at the foot of your card is the one that you saw first."
            ),
        ),
        shown=(Captioned(link_code(doors.here)),),
        digits=typed(doors.here),
        beside=lasting,
        kind="code",
    )
