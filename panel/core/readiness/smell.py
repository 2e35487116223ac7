"""What is advised where smelling is a step of its own."""

from collections.abc import Iterator

from panel.core.comparison import Comparison
from panel.core.message import say
from panel.core.methods import METHODS
from panel.core.names import Smell
from panel.core.questions import PickCups
from panel.core.readiness.obstacle import Obstacle, advice
from panel.core.smelling import LIDS, USUAL_POUR


def of_smell(comparison: Comparison) -> Iterator[Obstacle]:
    """Lids, a small pour, and words that a nose cannot answer."""
    plan = comparison.plan
    if plan.smell is Smell.WITH_TASTE:
        return
    method = METHODS.get(plan.method)
    if plan.smell is Smell.FIRST and method and not isinstance(method.decides(plan), PickCups):
        yield Obstacle(
            field="smell",
            message=say(
                "Nose first is for tests in which cups are chosen. Choose such a test, or another "
                "way to smell and taste."
            ),
        )
    yield advice("vessel", LIDS)
    if plan.smell is Smell.ONLY and comparison.serving.millilitres > USUAL_POUR:
        yield advice(
            "millilitres",
            say("For smelling alone %(ml)s ml in a cup are enough.", ml=USUAL_POUR),
        )
    if method is not None and method.names_attribute(plan) and plan.attribute.strip():
        yield advice(
            "attribute",
            say(
                "Can a nose tell which cup is more “%(attribute)s”? Bitter, sour, sweet and body "
                "are for the tongue: ask by smell only for what can be smelled.",
                attribute=plan.attribute,
            ),
        )
