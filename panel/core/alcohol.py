"""How much alcohol one taster is served, in grams and in the unit their country counts in.

Grams are millilitres x percent by volume / 100 x 0.789, the density of ethanol at 20 degrees
Celsius in grams per millilitre (NIAAA's 14 g are 17.7 ml at this density). It is what stands on
the tray: who spits or leaves something takes less.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from panel.core.comparison import Comparison
from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.core.methods import method_named
from panel.core.names import SittingKind, Smell

GRAMS_PER_MILLILITRE = Decimal("0.789")
NOTE_ABOVE_GRAMS = 14
"""One US standard drink (NIAAA): above it the organiser is told."""
WARN_ABOVE_GRAMS = 28
"""Two of them: above it the organiser is warned to serve less or give a reason."""

_REVIEW = "Kalinowski and Humphreys 2016, Addiction 111:1293-1298"


@dataclass(frozen=True)
class Unit:
    """A country's standard drink or unit. `source` says where `grams` comes from."""

    grams: Decimal
    name: Message
    source: str


def _unit(grams: str, country: Message, source: str = _REVIEW) -> Unit:
    name = say(
        "standard drinks of %(grams)s g (%(country)s)",
        grams=Number(float(grams), 2 if "." in grams else 0),
        country=country,
    )
    return Unit(Decimal(grams), name, source)


UNITS: dict[str, Unit] = {
    "uk": Unit(
        Decimal(8), say("UK units"), "UK Chief Medical Officers: 10 ml, 8 g (also the review)"
    ),
    "us": Unit(Decimal(14), say("US standard drinks"), "NIAAA: 0.6 fl oz, 17.7 ml, 14 g"),
    "at": _unit("20", say("Austria")),
    "au": _unit("10", say("Australia"), "from memory: Australian guidelines 2020"),
    "ca": _unit("13.45", say("Canada"), "from memory: Canadian guidance, 17.05 ml"),
    "cl": _unit("14", say("Chile")),
    "cn": _unit("10", say("China")),
    "de": _unit("10", say("Germany")),
    "dk": _unit("12", say("Denmark")),
    "fr": _unit("10", say("France")),
    "ie": _unit("10", say("Ireland")),
    "in": _unit("10", say("India")),
    "jp": _unit("20", say("Japan"), "from memory: Ministry of Health; other lists give 19.75"),
    "lu": _unit("12.8", say("Luxembourg")),
    "nz": _unit("10", say("New Zealand"), "from memory: Health Promotion Agency"),
    "sg": _unit("10", say("Singapore")),
    "vn": _unit("10", say("Vietnam")),
    "who": _unit("10", say("World Health Organization")),
}
"""By the country words a serving may hold. Limits for health differ too: local advice stands."""


def unit_of(country: str) -> Unit:
    """The unit of a country word; PanelError (code "unknown-country") if there is none."""
    try:
        return UNITS[country]
    except KeyError:
        raise PanelError(
            "unknown-country",
            say(
                "There is no unit of alcohol for “%(country)s”. Choose one of: %(countries)s.",
                country=country,
                countries=", ".join(UNITS),
            ),
            field="country",
        ) from None


@dataclass(frozen=True, kw_only=True)
class Alcohol:
    """What one taster is served at most. `grams` and `units` are None where a strength is missing.

    `warning` is None up to one US standard drink; `strong` is True above two.
    """

    grams: Decimal | None
    units: Decimal | None
    unit: Unit
    sentence: Message
    warning: Message | None = None
    strong: bool = False


def grams(millilitres: int, abv: Decimal) -> Decimal:
    """Grams of ethanol in a drink of `abv` percent by volume; exact."""
    return millilitres * abv / 100 * GRAMS_PER_MILLILITRE


def grams_per_tray(comparison: Comparison) -> Decimal | None:
    """Grams on the strongest tray that the method can serve; None where a strength is missing.
    Where nothing is drunk there are none."""
    plan = comparison.plan
    if plan.smell is Smell.ONLY:
        return Decimal(0)
    strengths = {beer.letter: beer.abv for beer in comparison.beers}
    trays: list[Decimal] = []
    for order in method_named(plan.method).orders(plan):
        cups = [strengths.get(letter) for letter in order]
        known = [strength for strength in cups if strength is not None]
        if len(known) < len(cups):
            return None
        trays.append(grams(comparison.serving.millilitres, sum(known, Decimal(0))))
    return max(trays, default=None)


def trays_per_taster(comparison: Comparison) -> int:
    """Trays that one taster gets: one, or where there are only repeat trials all of the largest."""
    repeats = [s.planned for s in comparison.sittings if s.kind is SittingKind.REPEAT]
    only_repeats = repeats and len(repeats) == len(comparison.sittings)
    return max(repeats) if only_repeats else 1


def alcohol(comparison: Comparison, others: Iterable[Comparison] = ()) -> Alcohol:
    """Alcohol per taster of a comparison and the `others` served to the same people that day."""
    unit = unit_of(comparison.serving.country)
    total = Decimal(0)
    together = tuple(others)
    for served in (comparison, *together):
        on_tray = grams_per_tray(served)
        if on_tray is None:
            return Alcohol(grams=None, units=None, unit=unit, sentence=_unknown())
        total += on_tray * trays_per_taster(served)
    if all(served.plan.smell is Smell.ONLY for served in (comparison, *together)):
        return _not_drunk(unit)
    return _of(total, unit)


def alcohol_of_repeats(comparison: Comparison) -> Alcohol | None:
    """What whoever tastes the repeat trials is served, where others taste at tables too."""
    repeats = tuple(s for s in comparison.sittings if s.kind is SittingKind.REPEAT)
    if not repeats or len(repeats) == len(comparison.sittings):
        return None
    most = alcohol(replace(comparison, sittings=repeats))
    if most.grams is None or most.units is None or not most.grams:
        return most
    sentence = say(
        "Whoever tastes all %(trays)s trays of the repeat trials is served up to %(grams)s g: "
        "%(units)s %(unit)s.",
        trays=max(sitting.planned for sitting in repeats),
        grams=Number(float(most.grams)),
        units=Number(float(most.units)),
        unit=most.unit.name,
    )
    return replace(most, sentence=sentence)


def alcohol_at_most(comparison: Comparison) -> Alcohol:
    """What sheets may print: every cup at the highest strength, so that no beer is told by it."""
    unit = unit_of(comparison.serving.country)
    if comparison.plan.smell is Smell.ONLY:
        return _not_drunk(unit)
    highest = highest_strength(comparison)
    if highest is None:
        return Alcohol(grams=None, units=None, unit=unit, sentence=_unknown())
    plan = comparison.plan
    cups = method_named(plan.method).cups_of(plan) * trays_per_taster(comparison)
    return _of(grams(cups * comparison.serving.millilitres, highest), unit)


def highest_strength(comparison: Comparison) -> Decimal | None:
    """The strength of the strongest beer in percent by volume; None where one is missing."""
    strengths = [beer.abv for beer in comparison.beers if beer.abv is not None]
    return max(strengths) if strengths and len(strengths) == len(comparison.beers) else None


def _of(total: Decimal, unit: Unit) -> Alcohol:
    units = total / unit.grams
    return Alcohol(
        grams=total,
        units=units,
        unit=unit,
        sentence=_sentence(total, units, unit),
        warning=_warning(total),
        strong=total > WARN_ABOVE_GRAMS,
    )


def _not_drunk(unit: Unit) -> Alcohol:
    none = _of(Decimal(0), unit)
    return replace(none, sentence=say("The cups are only smelled, so no alcohol is counted."))


def _unknown() -> Message:
    return say(
        "How much alcohol a taster is served cannot be said yet: give the strength of every "
        "drink, 0 for one without alcohol."
    )


def _sentence(total: Decimal, units: Decimal, unit: Unit) -> Message:
    if total == 0:
        return say("No alcohol is served.")
    return say(
        "Each taster is served up to %(grams)s g of alcohol: %(units)s %(unit)s.",
        grams=Number(float(total)),
        units=Number(float(units)),
        unit=unit.name,
    )


def _warning(total: Decimal) -> Message | None:
    if total > WARN_ABOVE_GRAMS:
        return say(
            "That is more than two US standard drinks (28 g) for each taster. Serve less in a cup "
            "or fewer trays each, have everybody spit, or be ready to say why. Nobody drives, and "
            "what was drunk before counts too."
        )
    if total > NOTE_ABOVE_GRAMS:
        return say(
            "That is more than one US standard drink (14 g) for each taster. Tell everybody "
            "beforehand, offer spit cups, and remember that what was drunk before counts too."
        )
    return None
