"""Under what conditions a result came about: what was served, to whom, and what was locked.

The fields follow the test reports that ISO 4120, ISO 5495 and ISO 10399 ask for; what was not
recorded is said to be so.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce

from panel.core.blinding import parts_said, server_said
from panel.core.comparison import Comparison, Sitting
from panel.core.flow import Flow
from panel.core.how_to_taste import how_to_smell, how_to_taste
from panel.core.kinds import AnyFinding
from panel.core.message import Message, Moment, Number, say
from panel.core.methods import Ranking, method_named
from panel.core.names import Aim, Helpers, Information, Looks, SittingKind, Smell, Step
from panel.core.nose_first import decides_by_smell
from panel.core.outcomes import Group
from panel.core.result import Result
from panel.core.turnout import only_repeats
from panel.core.wording.blinding_kept import CHANGED, PLANNED, say_blinding
from panel.core.wording.rankings import listed, names_of
from panel.core.wording.rows import Row
from panel.core.wording.sight import say_sighted

NOT_RECORDED = say("not recorded")
TASTERS_PLANNED = say("Tasters planned")


@dataclass(frozen=True)
class Occasion:
    """A sitting as the page shows it."""

    sitting: Sitting
    when: Message
    kind: Message
    flow: Flow | None


def zone(comparison: Comparison) -> str:
    """The zone in which the comparison's moments are shown: that of its first sitting."""
    return comparison.sittings[0].zone if comparison.sittings else "UTC"


def overline(result: Result, comparison: Comparison) -> tuple[Message, ...]:
    """Who, which test, and whether it was sealed in time: the line over the title."""
    parts = []
    if comparison.organised_by:
        parts.append(say("%(name)s", name=comparison.organised_by))
    parts.append(method_named(comparison.plan.method).name)
    if result.seal is not None and result.seal.before_serving:
        parts.append(say("sealed before serving"))
    elif result.seal is not None:
        parts.append(say("sealed, but not before serving"))
    return tuple(parts)


# --- groups ---------------------------------------------------------------------------------------


def group_name(finding: AnyFinding, comparison: Comparison) -> Message:
    """The heading of a group; with its sitting where the plan keeps sittings apart."""
    name = {
        Group.BLINDED: say("Blinded"),
        Group.INFORMED: say("Informed"),
        Group.TOLD: say("Told at the table"),
        Group.REPEAT: say("Repeat trials"),
    }[finding.group]
    if finding.group is Group.REPEAT and finding.taster > 1:
        return say("Repeat trials, taster %(number)s", number=finding.taster)
    apart = not comparison.plan.join_sittings and len(comparison.sittings) > 1
    if apart and len(finding.sittings) == 1 and finding.group is not Group.REPEAT:
        return say("%(group)s: %(sitting)s", group=name, sitting=_name(finding, comparison))
    return name


def _name(finding: AnyFinding, comparison: Comparison) -> str:
    names = {sitting.id: sitting.name for sitting in comparison.sittings}
    return names.get(finding.sittings[0], "")


def group_means(finding: AnyFinding) -> Message:
    """What the group's name means."""
    match finding.group:
        case Group.BLINDED:
            return say("told nothing of what was changed")
        case Group.INFORMED:
            return say("knew what was changed")
        case Group.TOLD:
            return say("sat with the blinded, and knew")
        case Group.REPEAT:
            return say("one taster, tray after tray")


def tag(finding: AnyFinding | None, result: Result) -> Message:
    """Whether an analysis was planned, by what was locked and when; None: a difference of groups.

    CONSORT 2025, items 10 and 21d: what was not planned is marked."""
    if finding is not None and not finding.planned:
        return say("extra")
    if result.seal is None or not result.seal.before_serving:
        return say("not locked before serving")
    return say("planned; changes below") if result.amendments else say("planned")


# --- what was served ------------------------------------------------------------------------------


def served(comparison: Comparison) -> tuple[Row, ...]:
    """How the drink was served."""
    serving = comparison.serving
    temperature = NOT_RECORDED
    if serving.temperature is not None:
        temperature = say("%(degrees)s °C", degrees=_number(float(serving.temperature)))
    return (
        Row(say("Drink"), say("%(drink)s", drink=comparison.drink)),
        Row(say("What was changed"), say("%(variable)s", variable=comparison.variable)),
        Row(say("In each cup"), say("%(count)s ml", count=serving.millilitres)),
        Row(say("Temperature"), temperature),
        Row(say("Cups"), _or_not_recorded(serving.vessel)),
        Row(say("By eye"), _LOOKS[serving.looks]),
        *_asked(comparison),
        Row(say("Allergens"), _or_not_recorded(", ".join(serving.allergens))),
        Row(say("In charge"), _or_not_recorded(comparison.organised_by)),
    )


def _asked(comparison: Comparison) -> Iterable[Row]:
    """How cups were to be smelled and tasted."""
    plan, serving = comparison.plan, comparison.serving
    label = say("Tasters were asked")
    if plan.smell is not Smell.WITH_TASTE:
        yield Row(label, how_to_smell(plan, serving))
        label = say("And then")
    if plan.smell is not Smell.ONLY:
        yield Row(label, how_to_taste(serving))


# --- who could know -------------------------------------------------------------------------------


def blinding(result: Result, comparison: Comparison) -> tuple[Row, ...]:
    """Who was to be blind, and what the record says of it."""
    return (*blinding_planned(comparison), *_by_the_record(result, comparison))


def blinding_planned(comparison: Comparison) -> tuple[Row, ...]:
    """Who was to be blind, and who was to have a second part, as it was said before sealing."""
    server = server_said(comparison.duties) if comparison.helpers is not Helpers.ALONE else ()
    return (
        Row(say("Blinding, as planned"), PLANNED[comparison.blinding]),
        Row(say("People who were to run it"), _HELPERS[comparison.helpers]),
        *(
            Row(say("Who was to do what"), sentence)
            for sentence in (*server, *parts_said(comparison.duties))
        ),
    )


def _by_the_record(result: Result, comparison: Comparison) -> Iterable[Row]:
    """What the record says of the blinding, by sitting where sittings are not alike."""
    names = {sitting.id: sitting.name for sitting in comparison.sittings}
    said: dict[str, list[Message]] = {}
    for sitting, sentence in say_blinding(result.blinding):
        said.setdefault(sitting, []).append(sentence)
    for sitting, sentences in said.items():
        label = say("Blinding, by the record")
        if sitting:
            label = say("Blinding of “%(sitting)s”, by the record", sitting=names[sitting])
        yield Row(label, reduce(_one_after_another, sentences))
    if result.amendments:
        yield Row(say("Blinding, by the record"), CHANGED)


def _one_after_another(first: Message, second: Message) -> Message:
    return say("%(first)s %(second)s", first=first, second=second)


def _or_not_recorded(text: str) -> Message:
    return say("%(text)s", text=text) if text.strip() else NOT_RECORDED


_LOOKS = {
    Looks.ALIKE: say("alike"),
    Looks.MASKED: say("not alike, and hidden by dark cups or dim light"),
    Looks.DIFFERENT: say("not alike, and nothing hid it"),
}

_HELPERS = {
    Helpers.ALONE: say("one"),
    Helpers.TWO: say("two"),
    Helpers.THREE: say("three or more"),
}


def who_saw(result: Result, comparison: Comparison) -> tuple[Message, ...]:
    """Who was not blind, by the record."""
    several = len(comparison.sittings) > 1
    names = {sitting.id: sitting.name for sitting in comparison.sittings} if several else {}
    return say_sighted(result.sighted, zone(comparison), names)


# --- what was locked ------------------------------------------------------------------------------


def planned(result: Result, comparison: Comparison) -> tuple[Row, ...]:
    """The plan in rows: question, risks, numbers, rules."""
    plan, method = result.plan, method_named(result.plan.method)
    rows = [
        Row(say("Test"), method.name),
        Row(say("The question"), method.in_a_sentence),
        Row(
            say("The aim"),
            FOR_THE_NOSE
            if plan.aim is Aim.DIFFERENCE and decides_by_smell(comparison.plan)
            else _AIMS[plan.aim],
        ),
        *_by_smell(comparison),
        *_named(comparison),
        *_of_several(comparison),
        Row(
            say("Trays planned, of one taster") if only_repeats(comparison) else TASTERS_PLANNED,
            say("%(count)s", count=plan.tasters),
        ),
    ]
    if plan.aim is Aim.SIMILARITY:
        rows.append(Row(say("Similar enough means"), _below_limit(result)))
        rows.append(Row(say("Risk of missing more"), _risk(float(plan.beta))))
    else:
        rows.append(Row(say("Difference worth finding"), _limit(result)))
        rows.append(Row(say("Risk of a false alarm"), _risk(float(plan.alpha))))
    rows.append(Row(say("Sittings"), _joined(comparison)))
    return tuple(rows)


def _of_several(comparison: Comparison) -> tuple[Row, ...]:
    """What was locked of more than two drinks."""
    plan = comparison.plan
    if plan.drinks <= 2:
        return ()
    cups = plan.cups or plan.drinks
    rows = [
        Row(
            say("Cups for each taster"),
            say("%(cups)s of %(drinks)s", cups=cups, drinks=plan.drinks),
        )
    ]
    if plan.expected_order:
        names = names_of(comparison)
        order = [say("%(name)s", name=names.get(one) or one) for one in plan.expected_order]
        rows.append(Row(say("Order named beforehand"), listed(order)))
    return tuple(rows)


FOR_THE_NOSE = say("to find a difference, if there is one to smell")
_AIMS = {
    Aim.DIFFERENCE: say("to find a difference, if there is one to taste"),
    Aim.SIMILARITY: say("to show that the two are similar enough"),
    Aim.PREFERENCE: say("to find out which one people prefer"),
}


_SMELL = {
    (Smell.ONLY, Step.NOSE): say("smell only: nothing is drunk"),
    (Smell.ONLY, Step.TASTE): say("smell only: nothing is drunk"),
    (Smell.FIRST, Step.NOSE): say(
        "nose first: chosen by smell alone, then again after tasting; the choice by smell decides"
    ),
    (Smell.FIRST, Step.TASTE): say(
        "nose first: chosen by smell alone, then again after tasting; the choice after tasting "
        "decides"
    ),
}


def _by_smell(comparison: Comparison) -> Iterable[Row]:
    """Whether smelling was a step of its own, and which step decides."""
    plan = comparison.plan
    if plan.smell is not Smell.WITH_TASTE:
        yield Row(say("Smell"), _SMELL[plan.smell, plan.deciding_step])


def _named(comparison: Comparison) -> Iterable[Row]:
    """Which beer was expected to have more of what, where the test names an attribute."""
    plan, method = comparison.plan, method_named(comparison.plan.method)
    if not method.names_attribute(plan):
        return
    yield Row(say("Asked for"), say("%(attribute)s", attribute=plan.attribute))
    if plan.stronger:
        names = {beer.letter: beer.name for beer in comparison.beers}
        name = names.get(plan.stronger) or plan.stronger
        yield Row(say("Expected to have more"), say("%(beer)s", beer=name))


def _limit(result: Result) -> Message:
    number = _number(100 * float(result.plan.limit))
    if isinstance(method_named(result.plan.method), Ranking):
        return say("%(number)s in 100 tasters who truly tell one from the others", number=number)
    if result.plan.aim is Aim.PREFERENCE:
        return say("%(number)s in 100 more choosing one than the other", number=number)
    return say("%(number)s in 100 tasters truly telling the two apart", number=number)


def _below_limit(result: Result) -> Message:
    number = _number(100 * float(result.plan.limit))
    return say("fewer than %(number)s in 100 tasters truly telling the two apart", number=number)


def _risk(risk: float) -> Message:
    return say("%(number)s in 100", number=_number(100 * risk))


def strength(abv: Decimal) -> Message:
    """A drink's strength with the digits that were written down, in the language's own points."""
    return say("%(value)s", value=Number(float(abv), max(0, -int(abv.as_tuple().exponent))))


def _number(value: float) -> Number:
    """A number with one digit after the point, or with none where it is whole."""
    return Number(value, 0 if abs(value - round(value)) < 0.005 else 1)


def _joined(comparison: Comparison) -> Message:
    if len(comparison.sittings) == 1:
        return say("one")
    if comparison.plan.join_sittings:
        return say(
            "%(count)s; blinded ones make one total, informed ones another",
            count=len(comparison.sittings),
        )
    return say("%(count)s; each stands by itself", count=len(comparison.sittings))


# --- sittings -------------------------------------------------------------------------------------


def sittings(result: Result, comparison: Comparison) -> tuple[Occasion, ...]:
    """The sittings with what became of their trays."""
    flows = dict(result.flows)
    return tuple(
        Occasion(
            sitting,
            _when(sitting),
            _kind(sitting),
            flows.get(sitting.id),
        )
        for sitting in comparison.sittings
    )


def _when(sitting: Sitting) -> Message:
    moment = Moment(sitting.opened or sitting.starts, sitting.zone)
    if sitting.not_held:
        return say("not held; planned for %(moment)s", moment=moment)
    return say("%(moment)s", moment=moment)


def _kind(sitting: Sitting) -> Message:
    if sitting.information is Information.SPLIT:
        return say("table, split by lot: half informed, half blinded")
    blinded = sitting.information is Information.BLINDED
    match sitting.kind:
        case SittingKind.TABLE:
            return say("blinded table") if blinded else say("informed table")
        case SittingKind.PARCEL:
            return say("blinded parcels") if blinded else say("informed parcels")
        case SittingKind.REPEAT:
            return say("repeat trials, blinded") if blinded else say("repeat trials, informed")


__all__ = [
    "Occasion",
    "blinding",
    "blinding_planned",
    "group_means",
    "group_name",
    "overline",
    "planned",
    "served",
    "sittings",
    "tag",
    "who_saw",
    "zone",
]
