"""The published result as a page: one template for the web's page and the static folder.

The template writes the result's <article>; whoever shows it puts a frame and a style sheet around
(`style.result_style`). Sentences are spoken by `speak`, so the core's words and the template's come
out in one language.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import chain
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.drawing import Drawing, Group
from panel.core.findings import Finding
from panel.core.kinds import AnyFinding, forced
from panel.core.message import Message, Moment, Parameter, Speak, say, say_n
from panel.core.result import Result
from panel.core.rosette import rosette
from panel.core.svg import svg
from panel.core.wording import (
    DECIDES_NOTHING,
    PRIOR_DECIDES_NOTHING,
    Row,
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
from panel.publishing import conditions
from panel.publishing.figures import Figure, flow_chart
from panel.publishing.kinds import chart_of, guesses_of

FIGURE = 60.0
"""Millimetres across the seal's figure; a page shows it as large as it has room."""


@dataclass(frozen=True, kw_only=True)
class Links:
    """Where the page points; "" leaves a link out.

    sealed: the file whose SHA-256 is the seal. plan: the locked plan, readable. findings: the
    numbers as data. codes: the look-up from a cup's code to what it held. bundle: everything in
    one file. report: to be printed. picture: to be shared. lasting: where the page stays.
    """

    sealed: str = ""
    plan: str = ""
    findings: str = ""
    codes: str = ""
    bundle: str = ""
    report: str = ""
    picture: str = ""
    lasting: str = ""


def result_html(
    result: Result,
    comparison: Comparison,
    *,
    links: Links | None = None,
    seal_holds: bool | None = None,
    speak: Speak = str,
) -> str:
    """The result's <article> as HTML.

    seal_holds: whether plan, key and secret make the seal again; None where it was not tried.
    """
    return _render(
        "result.html",
        speak,
        result=result,
        comparison=comparison,
        links=links or Links(),
        seal_holds=seal_holds,
        **_words(result, comparison, speak),
    )


def page_html(name: str, speak: Speak, language: str, **values: Any) -> str:
    """A whole page from one of the templates, for the static folder."""
    return _render(name, speak, language=language, **values)


def _words(result: Result, comparison: Comparison, speak: Speak) -> dict[str, Any]:
    """What the template may call: everything it shows is made here or in the core."""

    def chart(finding: AnyFinding) -> Figure | None:
        return chart_of(finding, comparison, speak)

    def guesses(finding: AnyFinding) -> Figure | None:
        return guesses_of(finding, comparison, speak)

    return {
        "said": lambda finding: say_finding(finding, comparison),
        "prior_decides": PRIOR_DECIDES_NOTHING,
        "priors": [
            (finding, said)
            for finding in result.findings
            if (said := say_posterior(finding, comparison))
        ],
        "with_told": lambda finding: say_with_told(finding, comparison),
        "difference_words": _difference_words(result, comparison),
        "rows": lambda finding: rows_for_all(finding, comparison),
        "all_rows": lambda finding: _all_rows(finding, result, comparison),
        "sittings_alike": lambda finding: _sittings_alike(finding, result, comparison),
        "repeat_words": _repeat_words(result, comparison),
        "steps": lambda finding: _steps(finding, result, comparison),
        "steps_decide": DECIDES_NOTHING,
        "group_name": lambda finding: conditions.group_name(finding, comparison),
        "group_means": conditions.group_means,
        "tag": lambda finding: conditions.tag(finding, result),
        "chart": chart,
        "guesses": guesses,
        "flow": flow_chart(result, speak),
        "overline": conditions.overline(result, comparison),
        "served": conditions.served(comparison),
        "blinding": conditions.blinding(result, comparison),
        "who_saw": conditions.who_saw(result, comparison),
        "beers": comparison.beers,
        "strength": conditions.strength,
        "planned": conditions.planned(result, comparison),
        "sittings": conditions.sittings(result, comparison),
        "card": card_number,
        "moment": lambda when: _moment(when, comparison),
        "seal_figure": _seal_figure(result),
    }


def _difference_words(result: Result, comparison: Comparison) -> tuple[tuple[Message, ...], ...]:
    """A paragraph for each difference."""
    main = result.main
    if main is None:
        return ()
    return tuple(say_difference(one, main, comparison) for one in result.differences)


def _all_rows(finding: AnyFinding, result: Result, comparison: Comparison) -> tuple[Row, ...]:
    parts = (rows_of_alike(one, comparison) for one in result.alike if one.stratum == finding.id)
    twice = (
        rows_of_steps(one, finding, comparison)
        for one in result.steps
        if one.stratum == finding.id and isinstance(finding, Finding)
    )
    return (
        *rows_for_statisticians(finding, comparison),
        *chain.from_iterable(parts),
        *chain.from_iterable(twice),
    )


def _steps(finding: AnyFinding, result: Result, comparison: Comparison) -> tuple[Message, ...]:
    """Nose first: the two choices of a finding's people held together; () elsewhere."""
    parts = (
        say_steps(one, finding, comparison)
        for one in result.steps
        if one.stratum == finding.id and isinstance(finding, Finding)
    )
    return tuple(chain.from_iterable(parts))


def _sittings_alike(
    finding: AnyFinding, result: Result, comparison: Comparison
) -> tuple[Message, ...]:
    """How the sittings of a finding differ, () where it has one."""
    parts = (say_alike(one, comparison) for one in result.alike if one.stratum == finding.id)
    return tuple(chain.from_iterable(parts))


def _repeat_words(
    result: Result, comparison: Comparison
) -> tuple[tuple[tuple[Message, ...], tuple[Row, ...]], ...]:
    """Sentences and numbers for the repeat trials of each sitting with several tasters."""
    words = []
    for repeats in result.repeats:
        one = next(known for known in forced(result.findings) if repeats.sitting in known.sittings)
        words.append((say_repeats(repeats, one, comparison), rows_of_repeats(repeats)))
    return tuple(words)


def _moment(when: Any, comparison: Comparison) -> Message:
    return say("%(moment)s", moment=Moment(when, conditions.zone(comparison)))


def _seal_figure(result: Result) -> Drawing | None:
    """The rosette as a drawing of its own."""
    if result.seal is None:
        return None
    shape = rosette(bytes.fromhex(result.seal.digest), FIGURE)
    centred = Group(shapes=shape.shapes, x=FIGURE / 2, y=FIGURE / 2)
    return Drawing(width=FIGURE, height=FIGURE, shapes=(centred,))


# --- templates ------------------------------------------------------------------------------------


@cache
def _templates() -> Environment:
    environment = Environment(
        loader=PackageLoader("panel.publishing", "templates"),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["drawn"] = _drawn
    environment.filters["in_eights"] = _in_eights
    return environment


def _render(name: str, speak: Speak, **values: Any) -> str:
    template = _templates().get_template(name)
    return template.render(**values, spoken=speak, _=_gettext(speak), ngettext=_ngettext(speak))


def _gettext(speak: Speak) -> Callable[..., str]:
    def gettext(sentence: str, **parameters: Parameter) -> str:
        return speak(say(sentence, **parameters))

    return gettext


def _ngettext(speak: Speak) -> Callable[..., str]:
    def ngettext(singular: str, plural: str, count: int, **parameters: Parameter) -> str:
        return speak(say_n(singular, plural, count, **parameters))

    return ngettext


def _drawn(drawing: Drawing, name: str) -> Markup:
    """A drawing as SVG. Every text in it is escaped by the writer."""
    return Markup(svg(drawing, name))


def _in_eights(digest: str) -> str:
    """A digest as people compare it: groups of eight digits."""
    return " ".join(digest[start : start + 8] for start in range(0, len(digest), 8))
