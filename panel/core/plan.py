"""The analysis plan and the way of serving: what is locked before the first cup."""

from dataclasses import asdict, dataclass, fields
from decimal import Decimal
from typing import Any

from panel.core.names import Aim, Looks, Smell, Step, Swallow

BALANCED = "balanced"
"""Duo-trio with either drink as the reference, half of the trays each."""


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What is asked, of how many, at which risks, and what will be done with the answers.

    Rates are exact decimals. `pd` is the smallest proportion of discriminators that matters
    (exactly one of `pd` and `d_prime` is given). `tasters` is what core.turnout derives from the
    sittings; `expected` is the turnout the organiser really believes in.
    """

    method: str
    aim: Aim = Aim.DIFFERENCE
    alpha: Decimal = Decimal("0.05")
    beta: Decimal = Decimal("0.2")
    pd: Decimal | None = Decimal("0.3")
    d_prime: Decimal | None = None
    sides: int = 1
    tasters: int = 0
    expected: int | None = None
    attribute: str = ""  # "bitter", for methods that ask which cup has more of it
    stronger: str = ""  # letter of the beer that is expected to have more of it
    lingers: bool = False  # the taste stays or builds up, as was said when the test was chosen
    reference: str = BALANCED  # duo-trio: BALANCED, or the letter of a constant reference
    smell: Smell = Smell.WITH_TASTE
    deciding_step: Step = Step.TASTE  # nose first: which of the two choices decides
    drinks: int = 2  # how many are compared, for methods that take more than two
    cups: int = 0  # how many of them one taster gets, 0 for all
    expected_order: str = ""  # letters first to last, where the order was named beforehand
    no_preference: bool = False  # paired preference: may a taster declare none?
    ask_sure: bool = True
    ask_went_by: bool = False
    ask_prefer: bool = False
    ask_words: bool = True
    join_sittings: bool = True  # sittings of one information make one total
    further_sittings: bool = False  # may sittings be added before closing?
    wave_size: int = 6
    excluded_codes: tuple[str, ...] = ()  # cup codes that carry a meaning where this is served


@dataclass(frozen=True, kw_only=True)
class Serving:
    """How the drink is served, the same for every cup. `temperature` in degrees Celsius."""

    millilitres: int = 50
    temperature: Decimal | None = None
    vessel: str = ""
    looks: Looks = Looks.ALIKE
    swallow: Swallow = Swallow.EITHER
    retaste: bool = True
    container_millilitres: int = 500
    allergens: tuple[str, ...] = ("barley (gluten)",)
    minimum_age: int = 18
    country: str = "uk"  # which unit of alcohol is shown: a key of quantities.UNITS


ADDED_LATER = {
    "smell": Smell.WITH_TASTE,
    "deciding_step": Step.TASTE,
    "drinks": 2,
    "cups": 0,
    "expected_order": "",
}
"""Fields that came after plans had been sealed. As they usually stand they are not written, so that
a plan of then and one of now have the same words, the same mark and the same seal."""


def as_words(value: Plan | Serving) -> dict[str, Any]:
    """A plan or serving as JSON values: decimals become strings, so that no digit is lost."""
    return {
        name: _word(part)
        for name, part in asdict(value).items()
        if name not in ADDED_LATER or part != ADDED_LATER[name]
    }


def plan_from_words(words: dict[str, Any]) -> Plan:
    """The plan that `as_words` wrote."""
    return Plan(
        **{
            **_known(Plan, words),
            "aim": Aim(words.get("aim", Aim.DIFFERENCE)),
            "alpha": Decimal(words.get("alpha", "0.05")),
            "beta": Decimal(words.get("beta", "0.2")),
            "pd": _decimal(words.get("pd")),
            "d_prime": _decimal(words.get("d_prime")),
            "smell": Smell(words.get("smell", Smell.WITH_TASTE)),
            "deciding_step": Step(words.get("deciding_step", Step.TASTE)),
            "excluded_codes": tuple(words.get("excluded_codes", ())),
        }
    )


def serving_from_words(words: dict[str, Any]) -> Serving:
    """The serving that `as_words` wrote."""
    return Serving(
        **{
            **_known(Serving, words),
            "temperature": _decimal(words.get("temperature")),
            "looks": Looks(words["looks"]),
            "swallow": Swallow(words["swallow"]),
            "allergens": tuple(words["allergens"]),
        }
    )


def _word(part: Any) -> Any:
    if isinstance(part, Decimal):
        return str(part)
    return list(part) if isinstance(part, tuple) else part


def _known(kind: type[Plan] | type[Serving], words: dict[str, Any]) -> dict[str, Any]:
    names = {field.name for field in fields(kind)}
    return {name: part for name, part in words.items() if name in names}


def _decimal(word: str | None) -> Decimal | None:
    return None if word is None else Decimal(word)
