"""A result as JSON values: what findings.json holds, for machines and for whoever checks.

Shares, probabilities and d-prime are numbers in full precision; risks and chance are exact texts
("0.05", "1/3"); moments are RFC 3339 in UTC; None where a number does not exist. docs/findings.md
describes every field.
"""

from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime
from decimal import Decimal
from typing import Any

from panel.core.alike import Alike
from panel.core.amendment import Amendment
from panel.core.blinding_kept import Kept
from panel.core.comparison import Beer, Comparison
from panel.core.flow import Flow
from panel.core.kinds import AnyFinding, PlanFacts
from panel.core.message import Speak
from panel.core.names import Reason
from panel.core.plan_document import moment_words
from panel.core.repeats import Repeats
from panel.core.result import Result, SealFacts
from panel.core.sight_of_key import sighted_words
from panel.core.steps_compared import StepsCompared
from panel.core.wording import say_finding
from panel.publishing.kinds import difference_words, numbers_of
from panel.publishing.schema_counts import interval_words

FORMAT = "panel findings"
VERSION = 2


def result_words(result: Result, comparison: Comparison, speak: Speak = str) -> dict[str, Any]:
    """The whole result; sentences in the language of `speak`."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "comparison": _comparison(comparison),
        "plan": _plan(result.plan),
        "seal": None if result.seal is None else _seal(result.seal),
        "findings": [_finding(finding, comparison, speak) for finding in result.findings],
        "parts of a total": [_alike(alike) for alike in result.alike],
        "repeat trials together": [_repeats(repeats) for repeats in result.repeats],
        **({"two steps": [_steps(steps) for steps in result.steps]} if result.steps else {}),
        "differences": [difference_words(difference) for difference in result.differences],
        "cautions": [
            {
                "id": caution.id,
                "severity": str(caution.severity),
                "title": speak(caution.title),
                "text": speak(caution.text),
            }
            for caution in result.cautions
        ],
        "who saw the key": sighted_words(result.sighted),
        "blinding by the record": [_kept(kept) for kept in result.blinding],
        "trays": _flow(result.flow),
        "trays by sitting": {sitting: _flow(flow) for sitting, flow in result.flows},
        "late": [
            {"tray": late.tray, "received": moment_words(late.received)} for late in result.late
        ],
        "amendments": [_amendment(amendment) for amendment in result.amendments],
    }


def _comparison(comparison: Comparison) -> dict[str, Any]:
    return {
        "id": comparison.id,
        "title": comparison.title,
        "variable": comparison.variable,
        "drink": comparison.drink,
        "organised by": comparison.organised_by,
        "blinding": str(comparison.blinding),
        "beers": [_beer(beer) for beer in comparison.beers],
        "closed": _moment(comparison.closed),
        "published": _moment(comparison.published),
    }


def _beer(beer: Beer) -> dict[str, Any]:
    return {
        "letter": beer.letter,
        "name": beer.name,
        "value": beer.value,
        "abv": None if beer.abv is None else str(beer.abv),
    }


def _plan(plan: PlanFacts) -> dict[str, Any]:
    return {
        "method": plan.method,
        "aim": str(plan.aim),
        "chance": None if plan.chance is None else str(plan.chance),
        "sides": plan.sides,
        "alpha": _exact(plan.alpha),
        "beta": _exact(plan.beta),
        "discriminators that matter": float(plan.limit),
        "tasters": plan.tasters,
    }


def _exact(value: Decimal) -> str:
    return format(value, "f")


def _seal(seal: SealFacts) -> dict[str, Any]:
    return {
        "digest": seal.digest,
        "made": moment_words(seal.made),
        "opened": _moment(seal.opened),
        "before serving": seal.before_serving,
    }


def _finding(finding: AnyFinding, comparison: Comparison, speak: Speak) -> dict[str, Any]:
    said = say_finding(finding, comparison)
    return {
        "stratum": finding.id,
        "group": str(finding.group),
        "information": str(finding.information),
        "planned": finding.planned,
        "sittings": list(finding.sittings),
        "verdict": str(finding.verdict),
        "tasters": finding.tasters,
        **numbers_of(finding),
        "with told": None
        if finding.with_told is None
        else _finding(finding.with_told, comparison, speak),
        "said": [speak(sentence) for sentence in (*said.lead, *said.then)],
    }


def _alike(alike: Alike) -> dict[str, Any]:
    return {
        "stratum": alike.stratum,
        "by": str(alike.by),
        "parts": list(alike.parts),
        "counts": [list(count) for count in alike.counts],
        "p": alike.even.p_value,
        "exact": alike.even.exact,
    }


def _repeats(repeats: Repeats) -> dict[str, Any]:
    fitted = repeats.fitted
    return {
        "sitting": repeats.sitting,
        "counts": [list(count) for count in repeats.counts],
        "p": repeats.together.p_value,
        "tarone": {
            "z": repeats.spread.z,
            "p": repeats.spread.p_value,
            "exact": repeats.spread.exact,
        },
        "beta-binomial": None
        if fitted is None
        else {
            "mean": fitted.mean,
            "spread": fitted.spread,
            "log-likelihood": fitted.log_likelihood,
        },
    }


def _steps(steps: StepsCompared) -> dict[str, Any]:
    return {
        "stratum": steps.stratum,
        "decides": str(steps.decides),
        "paired": steps.paired,
        "right by smell": steps.by_nose,
        "right after tasting": steps.by_taste,
        "changed": steps.changed,
        **{str(change): count for change, count in steps.counts},
        "p": None if steps.test is None else steps.test.p_value,
        "test": "mcnemar, exact, two-sided",
        "share to right": None if steps.interval is None else interval_words(steps.interval),
    }


def _kept(kept: Kept) -> dict[str, Any]:
    return {
        "sitting": kept.sitting,
        "planned": str(kept.planned),
        "by the record": str(kept.level),
        "handed out seeing": sum(trays for _, trays in kept.served),
        "names known": bool(kept.named),
        "cover names missing": kept.uncovered,
        "taster saw the key": bool(kept.tasted),
        "nobody noted": kept.unnoted,
        "poured from nothing": kept.poured_from_nothing,
    }


def _flow(flow: Flow) -> dict[str, Any]:
    words = {name.replace("_", " "): value for name, value in asdict(flow).items()}
    return {
        **words,
        "set aside": _reasons(flow.set_aside),
        "set aside before": _reasons(flow.set_aside_before),
    }


def _reasons(counts: Iterable[tuple[Reason, int]]) -> dict[str, int]:
    return {str(reason): trays for reason, trays in counts}


def _amendment(amendment: Amendment) -> dict[str, Any]:
    return {
        "number": amendment.number,
        "made": moment_words(amendment.made),
        "what": amendment.what,
        "reason": amendment.reason,
    }


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else moment_words(moment)
