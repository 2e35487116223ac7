"""More than two drinks, in the form of a question: further names, and what one taster gets of them.

Only drinks that were named count, and letters run on: whoever leaves a gap finds it closed.
"""

from dataclasses import dataclass, replace

from panel.core.comparison import Beer
from panel.core.message import Message, say
from panel.core.methods import METHODS
from panel.core.names import LETTERS
from panel.core.plan import Plan
from panel.web.organiser_reading import Reading

PAIR = LETTERS[:2]
FURTHER = LETTERS[2:]
CUPS = ("", *(str(cups) for cups in range(2, len(LETTERS))))
"""How many of several a taster gets; "" is all."""


@dataclass(frozen=True)
class Several:
    """What a form says of more than two drinks."""

    beers: tuple[Beer, ...]
    cups: int
    expected_order: str

    def of(self, plan: Plan) -> Plan:
        """The plan with these; as it was where there are but two."""
        if len(self.beers) <= len(PAIR):
            return plan
        return replace(
            plan,
            drinks=len(self.beers),
            cups=0 if self.cups >= len(self.beers) else self.cups,
            expected_order=self.expected_order,
        )


def several_read(reading: Reading) -> Several:
    """The named drinks with their letters, from A; the first two always."""
    typed = [letter for letter in LETTERS if letter in PAIR or _any(reading, letter)]
    beers = tuple(_beer(reading, own, letter) for own, letter in zip(LETTERS, typed, strict=False))
    cups = reading.word("cups", CUPS, say("Say how many cups one taster gets.")) or "0"
    order = "".join(reading.text("expected_order", 40).upper().replace(",", " ").split())
    if order and sorted(order) != [beer.letter for beer in beers]:
        reading.refuse(
            "expected_order",
            "expected-order",
            say(
                "Write each of the letters %(letters)s once, the first first; or leave it empty.",
                letters="".join(beer.letter for beer in beers),
            ),
        )
        order = ""
    return Several(beers, int(cups), order if len(beers) > len(PAIR) else "")


def cups_offered() -> list[tuple[str, Message]]:
    """The choices of how many cups one taster gets."""
    rest = [(word, say("%(cups)s of them", cups=int(word))) for word in CUPS if word]
    return [("", say("all of them (usual)")), *rest]


def words_of_several(plan: Plan) -> dict[str, str]:
    """The fields as they would be typed for a plan."""
    return {
        "cups": str(plan.cups) if plan.cups else "",
        "expected_order": " ".join(plan.expected_order),
    }


def takes_several(name: str, drinks: int) -> bool:
    """Whether a test can be asked of so many drinks."""
    method = METHODS[name]
    return method.beers <= drinks <= max(method.beers, method.most_beers)


def _any(reading: Reading, letter: str) -> bool:
    prefix = f"beer_{letter.lower()}"
    return any(reading.text(f"{prefix}_{what}", 120) for what in ("name", "value", "abv"))


def _beer(reading: Reading, own: str, letter: str) -> Beer:
    """The drink in the fields of one letter, under its own."""
    prefix = f"beer_{letter.lower()}"
    return Beer(
        letter=own,
        name=reading.text(f"{prefix}_name", 60),
        value=reading.text(f"{prefix}_value", 120),
        abv=reading.decimal(f"{prefix}_abv", "5.2"),
    )
