"""What can never be right in a draft, refused while it is written; what is only missing yet is
readiness' business."""

from decimal import Decimal
from zoneinfo import ZoneInfo

from panel.core.comparison import Comparison, Sitting
from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Information
from panel.core.plan import Plan, Serving

MOST_TRAYS = 2_000
"""Most trays of one sitting: a hall, not a typing mistake."""


def check_draft(comparison: Comparison, sitting: Sitting | None = None) -> None:
    """RefusalsError naming every field of the draft that cannot be right, and of a `sitting` that
    is to be kept with it beside those it has."""
    refusals = [
        *_titles(comparison),
        *_beers(comparison),
        *_risks(comparison.plan),
        *_method(comparison.plan),
        *_serving(comparison.serving),
        *(_sitting(sitting, comparison) if sitting is not None else ()),
    ]
    if refusals:
        raise RefusalsError(tuple(refusals))


def check_sitting(sitting: Sitting, comparison: Comparison) -> None:
    """RefusalsError naming every field of a sitting that cannot be right beside the others."""
    refusals = _sitting(sitting, comparison)
    if refusals:
        raise RefusalsError(tuple(refusals))


def zone_named(name: str) -> ZoneInfo:
    """The IANA time zone of that name; PanelError (field "zone") if there is none."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):  # unknown, no name at all, or a folder of zones
        raise _refusal(
            "zone",
            "zone",
            say("There is no time zone “%(zone)s”. Write one such as Europe/London.", zone=name),
        ) from None


def _sitting(sitting: Sitting, comparison: Comparison) -> list[PanelError]:
    refusals: list[PanelError] = []
    if not sitting.name.strip():
        refusals.append(_refusal("sitting-name", "sitting_name", say("Give the sitting a name.")))
    if any(other.name.casefold() == sitting.name.casefold() for other in comparison.sittings):
        refusals.append(
            _refusal(
                "sitting-name-twice",
                "sitting_name",
                say("Another sitting is called “%(name)s” already.", name=sitting.name),
            )
        )
    if not 1 <= sitting.planned <= MOST_TRAYS:
        refusals.append(
            _refusal(
                "planned",
                "planned",
                say("Plan between 1 and %(most)s trays for a sitting.", most=MOST_TRAYS),
            )
        )
    if sitting.information is Information.BLINDED and sitting.told.strip():
        refusals.append(
            _refusal(
                "told-blinded",
                "told",
                say(
                    "Blinded tasters are told nothing. Empty this, or inform the sitting."
                ),
            )
        )
    try:
        zone_named(sitting.zone)
    except PanelError as refusal:
        refusals.append(refusal)
    return refusals


def _refusal(code: str, field: str, message: Message) -> PanelError:
    return PanelError(code, message, field=field)


def _titles(comparison: Comparison) -> list[PanelError]:
    if comparison.title:
        return []
    return [
        _refusal("title-empty", "title", say("Write the question as a title, to find it again."))
    ]


def _beers(comparison: Comparison) -> list[PanelError]:
    refusals: list[PanelError] = []
    seen: dict[str, str] = {}
    for beer in comparison.beers:
        name = beer.name.casefold()
        field = f"beer_{beer.letter.lower()}_name"
        if name and name in seen:
            refusals.append(
                _refusal(
                    "beers-one-name",
                    field,
                    say(
                        "Two of the drinks are called “%(name)s”. Give each its own name.",
                        name=beer.name,
                    ),
                )
            )
        seen[name] = beer.letter
        if beer.abv is not None and not 0 <= beer.abv <= 100:
            refusals.append(
                _refusal(
                    "abv",
                    f"beer_{beer.letter.lower()}_abv",
                    say("Alcohol by volume lies between 0 and 100 percent."),
                )
            )
    return refusals


def _risks(plan: Plan) -> list[PanelError]:
    refusals = [
        _refusal(name, name, say("A risk lies between 0 and 1, such as 0.05."))
        for name, rate in (("alpha", plan.alpha), ("beta", plan.beta))
        if not 0 < rate < 1
    ]
    if (plan.pd is None) == (plan.d_prime is None):
        refusals.append(
            _refusal(
                "size",
                "pd",
                say("Say how large a difference matters: as a share of tasters or as d-prime."),
            )
        )
    if plan.pd is not None and not 0 < plan.pd <= 1:
        refusals.append(
            _refusal("pd", "pd", say("A share of tasters lies above 0 and up to 1, such as 0.3."))
        )
    if plan.d_prime is not None and not 0 < plan.d_prime <= 10:
        refusals.append(_refusal("d_prime", "d_prime", say("A d-prime lies above 0 and up to 10.")))
    return refusals


def _method(plan: Plan) -> list[PanelError]:
    method = method_named(plan.method)
    refusals = []
    if plan.aim not in method.aims:
        refusals.append(
            _refusal(
                "aim",
                "aim",
                say("This method cannot serve that aim. Choose another method or another aim."),
            )
        )
    if plan.sides not in method.sides:
        refusals.append(
            _refusal("sides", "sides", say("This method is not tested on that number of sides."))
        )
    return refusals


def _serving(serving: Serving) -> list[PanelError]:
    refusals = []
    if not 10 <= serving.millilitres <= 200:
        refusals.append(
            _refusal("millilitres", "millilitres", say("Pour between 10 and 200 ml into a cup."))
        )
    if serving.temperature is not None and not Decimal(-5) <= serving.temperature <= 95:
        refusals.append(
            _refusal(
                "temperature",
                "temperature",
                say("Serve between −5 and 95 °C."),
            )
        )
    if not 0 < serving.container_millilitres <= 100_000:
        refusals.append(
            _refusal(
                "container_millilitres",
                "container_millilitres",
                say("A bottle or keg holds between 1 and 100,000 ml."),
            )
        )
    return refusals
