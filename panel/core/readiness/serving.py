"""Obstacles in the serving and the sittings: cups, containers, temperature, trays, dates."""

from collections import Counter
from collections.abc import Iterator
from datetime import datetime

from panel.core.alcohol import UNITS
from panel.core.allocation.codes import usable_codes
from panel.core.comparison import Comparison, Sitting
from panel.core.drafts import container_gives, lies_within
from panel.core.errors import PanelError
from panel.core.message import Message, say, say_n
from panel.core.methods import METHODS
from panel.core.names import Information, Looks, SittingKind
from panel.core.readiness.obstacle import Obstacle, advice
from panel.core.turnout import counts_blinded, deciding_sittings, planned_tasters


def of_serving(comparison: Comparison) -> Iterator[Obstacle]:
    serving = comparison.serving
    if serving.temperature is None:
        yield Obstacle(
            field="temperature", message=say("Say at which temperature it is served, in °C.")
        )
    elif not lies_within(serving.temperature, -5, 95):
        yield Obstacle(
            field="temperature", message=say("That is no temperature to drink at, in °C.")
        )
    if not serving.vessel.strip():
        yield Obstacle(
            field="vessel", message=say("Say which cups are used; all of them must be alike.")
        )
    if not 10 <= serving.millilitres <= 200:
        yield Obstacle(
            field="millilitres", message=say("Serve between 10 and 200 ml in a cup; 50 is usual.")
        )
    else:
        yield from _container(comparison)
    if serving.looks is Looks.DIFFERENT:
        yield advice(
            "looks",
            say(
                "The two can be told apart by eye and nothing hides it: the result will say "
                "that tasters may have gone by looks. Dark cups or dim light would mend it."
            ),
        )
    if not serving.allergens:
        yield Obstacle(
            field="allergens",
            message=say(
                "Name the allergens in it, such as barley, wheat, oats, lactose, nuts, sulphites; "
                "or write “none”."
            ),
        )
    if serving.minimum_age < 0 or serving.minimum_age > 30:
        yield Obstacle(field="minimum_age", message=say("That is no minimum age, in years."))
    if serving.country not in UNITS:
        yield Obstacle(
            field="country", message=say("Choose the country whose unit of alcohol is shown.")
        )


def _container(comparison: Comparison) -> Iterator[Obstacle]:
    try:
        container_gives(comparison.serving)
    except PanelError as refusal:
        yield Obstacle(field=refusal.field or "container_millilitres", message=refusal.message)


def of_sittings(comparison: Comparison, now: datetime | None) -> Iterator[Obstacle]:
    if not comparison.sittings:
        yield Obstacle(
            field="sittings",
            message=say("Add at least one sitting: where, when, and how many trays."),
        )
        return
    names = Counter(sitting.name.casefold().strip() for sitting in comparison.sittings)
    for sitting in comparison.sittings:
        if names[sitting.name.casefold().strip()] > 1:
            yield _of(sitting, "name", say("Two sittings have the same name."))
        yield from _sitting(comparison, sitting, now)
    yield from _promised(comparison)


def _sitting(comparison: Comparison, sitting: Sitting, now: datetime | None) -> Iterator[Obstacle]:
    if not sitting.name.strip():
        yield _of(sitting, "name", say("Give the sitting a name; it is on every sheet."))
    if sitting.planned < 1:
        yield _of(sitting, "planned", say("Plan at least one tray for a sitting."))
    elif sitting.planned < 2 and sitting.information is Information.SPLIT:
        yield _of(sitting, "planned", say("A split sitting needs two trays at least."))
    yield from _codes(comparison, sitting)
    if now is not None and sitting.starts < now:
        yield advice("starts", say("This sitting's date has passed."), sitting.id)
    if sitting.information is not Information.BLINDED and not sitting.told.strip():
        yield _of(
            sitting,
            "told",
            say("Write down, word for word, what the informed tasters are told. It is published."),
        )
    if sitting.kind is SittingKind.TABLE and not sitting.place.strip():
        yield advice("place", say("The place is missing; sheets print it."), sitting.id)


def _codes(comparison: Comparison, sitting: Sitting) -> Iterator[Obstacle]:
    """Whether the cups that must differ (a wave's at a table; elsewhere all that are drawn) find a
    code each among those that the plan leaves."""
    plan = comparison.plan
    method = METHODS.get(plan.method)
    try:
        codes = len(usable_codes(plan.excluded_codes))
    except PanelError:  # said of the plan, see readiness.plan
        return
    independent = sitting.kind is not SittingKind.TABLE
    trays = 2 * sitting.planned if independent else min(plan.wave_size, sitting.planned)
    if method is not None and method.cups_of(comparison.plan) * trays > codes:
        yield _of(
            sitting,
            "planned",
            say(
                "There are %(codes)s codes that may be used, and these trays need %(cups)s that "
                "differ. Plan fewer trays, or leave out fewer codes.",
                codes=codes,
                cups=method.cups_of(comparison.plan) * trays,
            ),
        )


def _promised(comparison: Comparison) -> Iterator[Obstacle]:
    """Blinded trays beside the tasters planned: fewer trays than tasters cannot be."""
    plan = comparison.plan
    trays = planned_tasters(comparison)
    if not counts_blinded(comparison) or not 0 < trays < plan.tasters:
        return
    if not plan.join_sittings and len(deciding_sittings(comparison)) > 1:
        yield advice("planned", _too_small(trays, plan.tasters))
    elif not plan.further_sittings:
        yield advice("planned", _too_few(trays, plan.tasters))


def _too_small(trays: int, tasters: int) -> Message:
    return say_n(
        "Each sitting has a verdict of its own. Your smallest has only 1 tray, and you plan for "
        "%(tasters)s tasters.",
        "Each sitting has a verdict of its own. Your smallest has only %(count)s trays, and you "
        "plan for %(tasters)s tasters.",
        trays,
        tasters=tasters,
    )


def _too_few(trays: int, tasters: int) -> Message:
    return say_n(
        "Your sittings have only 1 tray for blinded tasters, and you plan for %(tasters)s.",
        "Your sittings have only %(count)s trays for blinded tasters, and you plan for "
        "%(tasters)s.",
        trays,
        tasters=tasters,
    )


def _of(sitting: Sitting, field: str, message: Message) -> Obstacle:
    return Obstacle(field=field, message=message, sitting=sitting.id)
