"""Obstacles in the question: titles, the variable, and the beers."""

from collections import Counter
from collections.abc import Iterator

from panel.core.alcohol import UNITS, alcohol, alcohol_of_repeats
from panel.core.comparison import Comparison
from panel.core.drafts import lies_within, one_name
from panel.core.message import say
from panel.core.methods import METHODS
from panel.core.names import Helpers
from panel.core.readiness.obstacle import Obstacle, advice


def of_question(comparison: Comparison) -> Iterator[Obstacle]:
    if not comparison.title.strip():
        yield Obstacle(field="title", message=say("Give the comparison a title."))
    if not comparison.neutral_title.strip():
        yield Obstacle(
            field="neutral_title",
            message=say("Give it a title that blinded people may read: it stands on every sheet."),
        )
    if not comparison.variable.strip():
        yield Obstacle(field="variable", message=say("Say what was changed between the two."))
    if comparison.duties.organiser_tastes and comparison.helpers is Helpers.ALONE:
        yield Obstacle(
            field="organiser_tastes",
            message=say(
                "Alone nobody else could see the pour mats, so they cannot be hidden from you. "
                "Leave this open; the recipe for one says how to lose track of the cups."
            ),
        )
    if not comparison.drink.strip():
        yield Obstacle(field="drink", message=say("Say what is tasted: beer, cider, coffee …"))


def of_beers(comparison: Comparison) -> Iterator[Obstacle]:
    beers = comparison.beers
    method = METHODS.get(comparison.plan.method)
    if len(beers) < 2:
        yield Obstacle(field="beers", message=say("A comparison needs two drinks."))
    elif method is not None and method.most_beers > 2 and len(beers) < method.beers:
        yield Obstacle(
            field="beers",
            message=say(
                "This test compares at least %(needed)s drinks, and there are %(given)s.",
                needed=method.beers,
                given=len(beers),
            ),
        )
    elif method is not None and method.most_beers <= 2 and len(beers) != method.beers:
        yield Obstacle(
            field="beers",
            message=say(
                "This test compares %(needed)s drinks, and there are %(given)s.",
                needed=method.beers,
                given=len(beers),
            ),
        )
    names = Counter(one_name(beer.name) for beer in beers)
    if "" in names:
        yield Obstacle(
            field="beers",
            message=say("Give each of the two a name.")
            if len(beers) <= 2
            else say("Give each of them a name."),
        )
    if any(count > 1 for name, count in names.items() if name):
        yield Obstacle(
            field="beers",
            message=say("Both have the same name. Name them so that the pourer cannot err.")
            if len(beers) <= 2
            else say("Two have the same name. Name them so that the pourer cannot err."),
        )
    for beer in beers:
        if beer.abv is None:
            yield advice(
                "abv",
                say(
                    "The strength of %(drink)s %(letter)s is missing: without it nobody can be "
                    "told how much alcohol they are served. Type 0 if there is none.",
                    drink=comparison.drink,
                    letter=beer.letter,
                ),
            )
        elif not lies_within(beer.abv, 0, 100):
            yield Obstacle(
                field="abv",
                message=say("The strength is in percent by volume, between 0 and 100."),
            )
    yield from _strength(comparison)


def _strength(comparison: Comparison) -> Iterator[Obstacle]:
    if any(beer.abv is not None and not beer.abv.is_finite() for beer in comparison.beers):
        return
    if comparison.plan.method not in METHODS or comparison.serving.country not in UNITS:
        return
    for served in (alcohol(comparison), alcohol_of_repeats(comparison)):
        if served is not None and served.warning is not None:
            yield advice("millilitres", served.warning)
            return
