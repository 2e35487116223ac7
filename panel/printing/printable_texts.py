"""Whether everything that sheets will print of a comparison can be printed, before it is sealed."""

from collections.abc import Iterator

from panel.core.comparison import Comparison
from panel.core.drawing import Face
from panel.core.errors import PanelError
from panel.core.message import Message, say
from panel.core.readiness import Obstacle
from panel.printing.fonts import printable


def unprintable(comparison: Comparison) -> tuple[Obstacle, ...]:
    """An obstacle for every text with a character that no typeface of the sheets has."""
    found: list[Obstacle] = []
    for field, sitting, what, text in _texts(comparison):
        try:
            printable(text, Face.TEXT, what)
        except PanelError as refusal:
            found.append(Obstacle(field=field, message=refusal.message, sitting=sitting))
    return tuple(found)


def _texts(comparison: Comparison) -> Iterator[tuple[str, str, Message, str]]:
    """Field, sitting ("" for none), its name in words, and the text."""
    yield "neutral_title", "", say("the neutral title"), comparison.neutral_title
    yield "drink", "", say("the word for the drink"), comparison.drink
    yield "organised_by", "", say("who organises it"), comparison.organised_by
    yield "attribute", "", say("the attribute asked for"), comparison.plan.attribute
    yield "vessel", "", say("the vessel"), comparison.serving.vessel
    yield "allergens", "", say("the allergens"), ", ".join(comparison.serving.allergens)
    for beer in comparison.beers:
        name = say("the name of beer %(letter)s", letter=beer.letter)
        yield f"beer_{beer.letter.lower()}_name", "", name, beer.name
    for sitting in comparison.sittings:
        yield "sitting_name", sitting.id, say("the name of a sitting"), sitting.name
        yield "place", sitting.id, say("the place of a sitting"), sitting.place
        yield "told", sitting.id, say("what informed tasters are told"), sitting.told
