"""What the steward reads aloud and must know: word for word, the same on screen and paper, and for
every tray.

Only the neutral side of a comparison comes in here: codes, allergens of all beers together, the
highest strength. Nothing changes when the beers change places.
"""

from collections.abc import Callable
from dataclasses import dataclass

from panel.core.alcohol import alcohol_at_most, highest_strength
from panel.core.comparison import Comparison, Sitting
from panel.core.how_to_taste import how_to_taste
from panel.core.message import Message, Number, say
from panel.core.methods import method_named
from panel.core.names import Information, SittingKind, Smell, Swallow
from panel.core.quantities import POUR_TO_SERVE_LIMIT_SECONDS
from panel.core.smelling import (
    NOTHING_IS_DRUNK,
    OF_FREE_WILL,
    PLAIN_AIR,
    WHO_MAY,
    by_smell,
    only_smelled,
)


@dataclass(frozen=True)
class Paragraph:
    """Sentences that are said in one go. `told`: they are what the informed are told, as typed."""

    said: tuple[Message | str, ...]
    told: bool = False


@dataclass(frozen=True)
class Script:
    """What is read aloud at a sitting, and when."""

    title: Message
    paragraphs: tuple[Paragraph, ...]

    @property
    def tells(self) -> bool:
        """Whether whoever reads it aloud learns by it what was changed."""
        return any(paragraph.told for paragraph in self.paragraphs)


def script_of(comparison: Comparison, sitting: Sitting) -> Script:
    """The script of a sitting, for screen and paper. Of the variable it holds what all tasters of
    an informed sitting are told, and nothing at any other."""
    title, first, middle, last = _PARTS[sitting.kind](comparison)
    extra = told(sitting)
    return Script(
        title,
        (
            Paragraph(first),
            *((Paragraph((extra,), told=True),) if extra else ()),
            Paragraph((_knew(comparison, sitting),)),  # what they knew comes before any slip
            *((Paragraph(slip_read(sitting)),) if slip_read(sitting) else ()),
            *(Paragraph(part) for part in (*middle, *last, (_of_free_will(comparison),))),
        ),
    )


_Said = tuple[Message, ...]
_Parts = tuple[Message, _Said, tuple[_Said, ...], tuple[_Said, ...]]


def _table(comparison: Comparison) -> _Parts:
    return (
        say("Say this to the table"),
        (
            say(
                "Thank you for coming. In front of you stand %(cups)s cups of %(drink)s. The "
                "numbers on them were drawn by lot and mean nothing.",
                cups=method_named(comparison.plan.method).cups_of(comparison.plan),
                drink=comparison.drink,
            ),
        ),
        _tasting(comparison),
        (
            (
                PLAIN_AIR
                if only_smelled(comparison)
                else say(
                    "Rinse with water before the first cup and between cups, and take your time."
                ),
                say("Mark the card with pen or pencil, or answer on your phone, not both."),
            ),
            (
                say(
                    "Please do not talk, sigh or look at one another’s faces until the last card "
                    "is in. Keep the stub: with it you find your answer when the result is "
                    "published."
                ),
            ),
        ),
    )


def _parcel(comparison: Comparison) -> _Parts:
    return (
        say("Say this with every parcel"),
        (
            say(
                "Thank you for taking part. In this parcel are %(cups)s containers of %(drink)s, a "
                "sheet and a card. The numbers on them were drawn by lot and mean nothing.",
                cups=method_named(comparison.plan.method).cups_of(comparison.plan),
                drink=comparison.drink,
            ),
            say(
                "Do not open anything before the day. If a container is broken, open or missing, "
                "tell the organiser only the number of the parcel."
            ),
        ),
        (
            (
                say(
                    "Do it alone, and as the sheet says, step by step: it also says what the "
                    "drinks contain and how strong they are."
                )
                if only_smelled(comparison)
                else say(
                    "Taste alone, and as the sheet says, step by step: it also says what the "
                    "drinks contain and how strong they are."
                ),
            ),
            *(((NOTHING_IS_DRUNK,),) if only_smelled(comparison) else ()),
        ),
        (
            (
                say(
                    "Answer on the card and send it back in the envelope, or answer by phone with "
                    "the code on the card, not both."
                ),
                say(
                    "Talk about it only after the result is published, and keep the stub: with it "
                    "you find your answer then."
                ),
            ),
        ),
    )


def _repeat(comparison: Comparison) -> _Parts:
    return (
        say("Say this before the first round"),
        (
            say(
                "By yourself you smell rounds of %(cups)s cups of %(drink)s. The numbers under "
                "the cups were drawn by lot and mean nothing.",
                cups=method_named(comparison.plan.method).cups_of(comparison.plan),
                drink=comparison.drink,
            )
            if only_smelled(comparison)
            else say(
                "You taste by yourself, in rounds of %(cups)s cups of %(drink)s. The numbers under "
                "the cups were drawn by lot and mean nothing.",
                cups=method_named(comparison.plan.method).cups_of(comparison.plan),
                drink=comparison.drink,
            ),
        ),
        _tasting(comparison),
        (
            (
                say(
                    "Choose by its place before you look under a cup; only then copy the code. "
                    "Rest two minutes in plain air between rounds."
                )
                if only_smelled(comparison)
                else say(
                    "Choose by its place before you turn a cup over; only then copy the code. Rest "
                    "two minutes and rinse with water between rounds."
                ),
            ),
            (
                say(
                    "Mark each round’s card with pen or pencil, or answer on your phone, not both. "
                    "Look at no mat, and stop after the last round."
                ),
            ),
        ),
    )


def _tasting(comparison: Comparison) -> tuple[_Said, ...]:
    return (*choosing(comparison), tasting_rules(comparison))


def choosing(comparison: Comparison) -> tuple[_Said, ...]:
    """What is to be done with the cups, step by step, up to the rules of tasting."""
    smelling = by_smell(comparison)
    if smelling:
        return smelling
    method = method_named(comparison.plan.method)
    return ((method.instruction, method.decides(comparison.plan).text),)


_PARTS: dict[SittingKind, Callable[[Comparison], _Parts]] = {
    SittingKind.TABLE: _table,
    SittingKind.PARCEL: _parcel,
    SittingKind.REPEAT: _repeat,
}
_KNEW: dict[SittingKind, Message] = {
    SittingKind.TABLE: say(
        "Before the first sip, mark on the card what you knew before you sat down. There is no "
        "wrong answer."
    ),
    SittingKind.PARCEL: say(
        "Before the first sip, mark on the card what you knew beforehand. There is no wrong answer."
    ),
    SittingKind.REPEAT: say(
        "Before the first sip of a round, mark on its card what you knew beforehand. There is no "
        "wrong answer."
    ),
}
_OF_FREE_WILL = say(
    "You take part of your own free will. You may stop at any moment, spit out, leave a cup, and "
    "need not say why."
)


def _of_free_will(comparison: Comparison) -> Message:
    return OF_FREE_WILL if only_smelled(comparison) else _OF_FREE_WILL


def _knew(comparison: Comparison, sitting: Sitting) -> Message:
    """That what one knew is marked before the first cup is tasted, or smelled."""
    if comparison.plan.smell is Smell.WITH_TASTE:
        return _KNEW[sitting.kind]
    return say(
        "Before you smell the first cup, mark on the card what you knew beforehand. There is no "
        "wrong answer."
    )


def tasting_rules(comparison: Comparison) -> tuple[Message, ...]:
    """Going back to a cup, swallowing: as on card and phone. Modelled on ISO 4120:2021, 5.8."""
    if only_smelled(comparison):
        return (NOTHING_IS_DRUNK,)
    rule = how_to_taste(comparison.serving)
    if comparison.serving.swallow is Swallow.EITHER:
        return rule, say("Whichever you do, do it with every cup.")
    return (rule,)


def told(sitting: Sitting) -> str:
    """What all tasters of an informed sitting are told, as typed; "" for any other."""
    return sitting.told if sitting.information is Information.INFORMED else ""


def slip_read(sitting: Sitting) -> tuple[Message, ...]:
    """Of a split sitting: that everybody reads the slip of their own tray."""
    if sitting.information is not Information.SPLIT:
        return ()
    return (
        say(
            "Beside your card lies a folded slip. Open it now, read it by yourself, fold it again, "
            "and say nothing of it."
        ),
    )


def slip_handed_out(sitting: Sitting) -> tuple[Message, ...]:
    """Of a split sitting: what the steward does with the slips."""
    if sitting.information is not Information.SPLIT:
        return ()
    return (
        say(
            "Every tray has a folded slip with its number: lay it beside the card, unread. If "
            "somebody shows you theirs, look away and note the tray’s number."
        ),
    )


def allergen_line(comparison: Comparison) -> Message:
    """The allergens of all beers together."""
    if not comparison.serving.allergens:
        return say("Allergens: none was named. Anyone who must be sure asks before tasting.")
    return say(
        "Allergens, all cups taken together: %(allergens)s. Anyone may ask in private before "
        "tasting.",
        allergens=", ".join(comparison.serving.allergens),
    )


def strength_line(comparison: Comparison) -> Message:
    """The highest strength, and what a taster is served at most."""
    highest = highest_strength(comparison)
    at_most = alcohol_at_most(comparison)
    if highest is None:
        return say("Strength: not known. Treat it as strong.")
    if only_smelled(comparison):
        return say(
            "Strength: up to %(strength)s%% by volume in the cups, and nothing of it is drunk.",
            strength=Number(float(highest)),
        )
    if highest == 0:
        return at_most.sentence
    if at_most.strong:
        return say(
            "Strength: up to %(strength)s%% by volume. %(served)s That is more than two US "
            "standard drinks (28 g): spit every sip, or pour smaller cups.",
            strength=Number(float(highest)),
            served=at_most.sentence,
        )
    return say(
        "Strength: up to %(strength)s%% by volume. %(served)s",
        strength=Number(float(highest)),
        served=at_most.sentence,
    )


def serves_alcohol(comparison: Comparison) -> bool:
    """Whether any beer has alcohol, or may have."""
    return highest_strength(comparison) != 0


def cautions(comparison: Comparison) -> tuple[Message, ...]:
    """Allergens, strength, age, driving, health: what goes before any blinding."""
    said = [allergen_line(comparison), strength_line(comparison)]
    if comparison.serving.minimum_age:
        said.append(
            say(
                "Nobody under %(age)s tastes; where the law says more, the law stands.",
                age=comparison.serving.minimum_age,
            )
            if not only_smelled(comparison)
            else say(
                "Nobody under %(age)s takes part; where the law says more, the law stands.",
                age=comparison.serving.minimum_age,
            )
        )
    if only_smelled(comparison):
        said.append(WHO_MAY)
    elif serves_alcohol(comparison):
        said.append(
            say(
                "Anyone who drives or works with machines afterwards spits, or does not taste; so "
                "does anyone who is pregnant or takes medicine that forbids alcohol. What was "
                "drunk before counts too."
            )
        )
    return tuple(said)


def order_of_the_evening(comparison: Comparison) -> tuple[Message, ...]:
    """What the steward does, in turn."""
    steps = [
        say(
            "The test comes before any bottle share. For an hour before it no coffee, smoke or "
            "perfume. Anyone with a cold sits out."
        ),
        say("An aired room without smells; chairs apart, nobody facing another.")
        if only_smelled(comparison)
        else say("Water and a spit cup for everybody; chairs apart, nobody facing another."),
        say("Sign in, on the back. Read the script aloud, once, as it stands."),
        say(
            "Hand any tray of the wave to anybody, within %(limit)s minutes of the first pour. "
            "Compare the card’s codes with the cups. Tick “out”.",
            limit=POUR_TO_SERVE_LIMIT_SECONDS // 60,
        ),
        say("Say nothing of the drinks: no “the new one”, no “the other one”, no face."),
        say(
            "A tray spilled, short or talked over: set it aside, note its number, ask for a "
            "spare one."
        ),
        say("Take cards back and tick “in”. Then the next wave."),
        say("You never go behind the pourer’s door; the pourer’s sheets never come out."),
    ]
    if comparison.plan.method in ("triangle", "duo-trio") and not only_smelled(comparison):
        steps.append(
            say("Of a bitter or strong drink, at most two such trays for one taster in an evening.")
        )
    return tuple(steps)
