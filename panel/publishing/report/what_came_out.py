"""The sections on the result: words, figures, numbers, group by group."""

from collections.abc import Iterable
from dataclasses import replace

from panel.core.findings import Finding, Verdict
from panel.core.kinds import AnyFinding, forced
from panel.core.message import Message, say
from panel.core.steps_compared import StepsCompared
from panel.core.wording import (
    DECIDES_NOTHING,
    PRIOR_DECIDES_NOTHING,
    rows_for_all,
    rows_for_statisticians,
    rows_of_alike,
    rows_of_repeats,
    rows_of_steps,
    say_alike,
    say_difference,
    say_finding,
    say_posterior,
    say_repeats,
    say_steps,
    say_with_told,
)
from panel.printing.blocks import Block, space
from panel.publishing import conditions
from panel.publishing.kinds import chart_of, guesses_of
from panel.publishing.report.setting import (
    SENTENCE,
    SOFT,
    figure,
    sentences,
    words,
)
from panel.publishing.report.told import Told


def outcome(told: Told) -> list[Block]:
    """Every group by itself, never together; then what knowing does."""
    blocks: list[Block] = []
    for finding in told.result.findings:
        blocks += _group(told, finding)
    knowing = [told.all_words(paragraph) for paragraph in _difference_words(told)]
    if knowing:
        blocks.append(told.sub(say("What knowing does")))
    for paragraph in knowing:
        blocks += [paragraph, space(2)]
    for repeats in told.result.repeats:
        one = next(x for x in forced(told.result.findings) if repeats.sitting in x.sittings)
        blocks += [
            told.sub(say("The repeat trials together")),
            told.all_words(say_repeats(repeats, one, told.comparison)),
            space(1),
            *told.rows(rows_of_repeats(repeats)),
        ]
    return blocks


def _group(told: Told, finding: AnyFinding) -> list[Block]:
    known, speak = told.comparison, told.speak
    name = say(
        "%(group)s: %(means)s (%(tag)s)",
        group=conditions.group_name(finding, known),
        means=conditions.group_means(finding),
        tag=conditions.tag(finding, told.result),
    )
    said = say_finding(finding, known)
    blocks = [
        told.sub(name),
        replace(words(sentences(said.lead, speak), told.room, SENTENCE), keep=True),
        told.all_words((*said.then, *say_with_told(finding, known), *_alike(told, finding))),
    ]
    chart = chart_of(finding, known, speak)
    if chart is not None:
        blocks[-1] = replace(blocks[-1], keep=True)
        blocks.append(figure(chart.drawing, min(told.room, 108.0), 2.5))
    rows = rows_for_all(finding, known) if finding.verdict is not Verdict.COUNT_ONLY else ()
    return [*blocks, *told.rows(rows, 0.56), *_twice(told, finding), space(3)]


def _twice(told: Told, finding: AnyFinding) -> Iterable[Block]:
    """Nose first: the two choices of a group's people held together."""
    for one, own in _steps(told, finding):
        yield told.sub(say("By smell, and after tasting"))
        yield told.all_words((*say_steps(one, own, told.comparison), DECIDES_NOTHING))


def _steps(told: Told, finding: AnyFinding) -> Iterable[tuple[StepsCompared, Finding]]:
    if isinstance(finding, Finding):
        for one in told.result.steps:
            if one.stratum == finding.id:
                yield one, finding


def _alike(told: Told, finding: AnyFinding) -> Iterable[Message]:
    for one in told.result.alike:
        if one.stratum == finding.id:
            yield from say_alike(one, told.comparison)


def _difference_words(told: Told) -> Iterable[tuple[Message, ...]]:
    main = told.result.main
    if main is not None:
        for one in told.result.differences:
            yield tuple(say_difference(one, main, told.comparison))


def guessing(told: Told) -> list[Block]:
    """Where guessing lies, for the finding that speaks first."""
    main = told.result.main
    drawn = None if main is None else guesses_of(main, told.comparison, told.speak)
    if drawn is None:
        return []
    explained = say(
        "If nobody could tell, the count would still be different on every evening. The bars show "
        "how often each count would come up by guessing alone, among as many as answered here. The "
        "full bar is the count of this comparison."
    )
    return [told.held(explained), figure(drawn.drawing, min(told.room, 108.0), 2.0)]


def numbers(told: Told) -> list[Block]:
    """Everything that was computed, in the trade's terms."""
    blocks: list[Block] = []
    for finding in told.result.findings:
        blocks += [
            told.sub(conditions.group_name(finding, told.comparison)),
            *told.rows(rows_for_statisticians(finding, told.comparison), 0.62),
        ]
        for one in told.result.alike:
            if one.stratum == finding.id:
                blocks += told.rows(rows_of_alike(one, told.comparison), 0.62)
        for steps, own in _steps(told, finding):
            blocks += told.rows(rows_of_steps(steps, own, told.comparison), 0.62)
    read = [one for one in forced(told.result.findings) if one.posterior]
    if read:
        blocks.append(told.sub(say("The same counts, read as probabilities of sizes")))
    for finding in read:
        blocks += [told.all_words(say_posterior(finding, told.comparison)), space(1)]
    if read:
        blocks += [words(told.speak(PRIOR_DECIDES_NOTHING), told.room, SOFT), space(1)]
    return blocks
