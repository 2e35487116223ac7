"""Obstacles in the plan: risks, the difference that matters, and what the method needs to know."""

from collections.abc import Iterator
from decimal import Decimal

from panel.core.comparison import Comparison
from panel.core.drafts import plan_refused
from panel.core.message import say
from panel.core.methods import METHODS
from panel.core.names import Aim, SittingKind
from panel.core.plan import BALANCED
from panel.core.readiness.obstacle import Obstacle, advice
from panel.core.turnout import only_repeats


def of_plan(comparison: Comparison) -> Iterator[Obstacle]:
    plan = comparison.plan
    tables = any(sitting.kind is not SittingKind.REPEAT for sitting in comparison.sittings)
    if tables and plan.tasters < 1:
        yield Obstacle(field="tasters", message=say("Say how many tasters you plan for."))
    for refusal in plan_refused(plan):
        yield Obstacle(field=refusal.field or "", message=refusal.message)
    for field, risk in (("alpha", plan.alpha), ("beta", plan.beta)):
        if risk.is_finite() and Decimal("0.5") < risk < 1:
            yield advice(field, say("A risk above a half is no better than tossing a coin."))


def of_method(comparison: Comparison) -> Iterator[Obstacle]:
    plan = comparison.plan
    method = METHODS.get(plan.method)
    if method is None:
        yield Obstacle(field="method", message=say("Choose a test."))
        return
    if plan.aim not in method.aims:
        yield Obstacle(
            field="aim",
            message=say("The %(method)s cannot answer this question.", method=method.name),
        )
    if plan.sides not in method.sides:
        yield Obstacle(
            field="sides",
            message=say(
                "Both directions or one: the %(method)s cannot be asked this way.",
                method=method.name,
            ),
        )
    if plan.aim is Aim.SIMILARITY:
        yield from _similarity(comparison)
    letters = {beer.letter for beer in comparison.beers}
    if method.id == "duo-trio" and plan.reference != BALANCED and plan.reference not in letters:
        yield Obstacle(field="reference", message=say("Choose which of the two is the reference."))
    order = plan.expected_order
    if order and sorted(order) != sorted(letters):
        yield Obstacle(
            field="expected_order",
            message=say("Name each drink once in the order that you expect, or leave it empty."),
        )
    if not method.names_attribute(plan):
        return
    if not plan.attribute.strip():
        yield Obstacle(
            field="attribute",
            message=say("Name in one word what the ballot asks for, such as “bitter”."),
        )
    if method.directional and plan.sides == 1 and plan.stronger not in letters:
        yield Obstacle(
            field="stronger",
            message=say("Say beforehand which of the two should have more of it."),
        )


def _similarity(comparison: Comparison) -> Iterator[Obstacle]:
    if only_repeats(comparison):
        yield advice(
            "tasters",
            say(
                "One taster's trays can show that this taster cannot tell, and never that nobody "
                "can."
            ),
        )
    elif 0 < comparison.plan.tasters < 30:
        # ISO 5495:2005, Table A.3, note 2, of the paired comparison; kept for all tests here.
        yield advice(
            "tasters", say("To show that nobody can tell, fewer than 30 tasters are too few.")
        )
