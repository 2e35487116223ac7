"""What can never be right in a draft, refused while it is written; what is only missing yet is
readiness' business. A draft that passes can be forecast: nothing in it makes the reckoning fail."""

from collections.abc import Callable, Iterable
from decimal import Decimal
from zoneinfo import ZoneInfo

from panel.core.alcohol import unit_of
from panel.core.allocation.check_letter import HIGHEST_CARD_NUMBER
from panel.core.allocation.codes import usable_codes
from panel.core.allocation.trays import WAVE_SIZES
from panel.core.comparison import Beer, Comparison, Sitting
from panel.core.errors import PanelError, RefusalsError
from panel.core.kinds import check_size
from panel.core.message import Message, say
from panel.core.methods import METHODS, Method, method_named
from panel.core.methods.ranking import MOST_CUPS, some_of
from panel.core.names import Information, SittingKind
from panel.core.plan import Plan, Serving
from panel.core.quantities import beer_need
from panel.core.statistics import MAX_TASTERS
from panel.core.statistics.inputs import check_alpha, check_beta

MOST_TRAYS = 2_000
"""Most trays of one sitting: a hall, not a typing mistake."""
MOST_TRAYS_OF_ALL = HIGHEST_CARD_NUMBER // 2
"""Most trays of a comparison: each has a card number, and so has the spare drawn with it."""


def check_draft(comparison: Comparison, sitting: Sitting | None = None) -> None:
    """RefusalsError naming every field of the draft that cannot be right, and of a `sitting` that
    is to be kept with it beside those it has."""
    refusals = [
        *title_refused(comparison.title),
        *beers_refused(comparison.beers),
        *plan_refused(comparison.plan),
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


def sitting_name_refused(name: str) -> list[PanelError]:
    """What cannot be right about a sitting's name beside those of others."""
    if name.strip():
        return []
    return [_refusal("sitting-name", "sitting_name", say("Give the sitting a name."))]


def planned_refused(planned: int) -> list[PanelError]:
    """What cannot be right about a sitting's number of trays, whatever the others have."""
    if 1 <= planned <= MOST_TRAYS:
        return []
    sentence = say("Plan between 1 and %(most)s trays for a sitting.", most=MOST_TRAYS)
    return [_refusal("planned", "planned", sentence)]


def _sitting(sitting: Sitting, comparison: Comparison) -> list[PanelError]:
    refusals: list[PanelError] = []
    refusals += sitting_name_refused(sitting.name)
    if any(one_name(other.name) == one_name(sitting.name) for other in comparison.sittings):
        refusals.append(
            _refusal(
                "sitting-name-twice",
                "sitting_name",
                say("Another sitting is called “%(name)s” already.", name=sitting.name),
            )
        )
    number = planned_refused(sitting.planned)
    refusals += number
    others = sum(other.planned for other in comparison.sittings)
    if not number and sitting.planned + others > MOST_TRAYS_OF_ALL:
        refusals.append(
            _refusal(
                "planned-of-all",
                "planned",
                say(
                    "All sittings together can have %(most)s trays: card numbers end there. Plan "
                    "fewer, or make a comparison of its own for the rest.",
                    most=MOST_TRAYS_OF_ALL,
                ),
            )
        )
    if sitting.information is Information.BLINDED and sitting.told.strip():
        refusals.append(
            _refusal(
                "told-blinded",
                "told",
                say("Blinded tasters are told nothing. Empty this, or inform the sitting."),
            )
        )
    if sitting.information is Information.SPLIT and sitting.kind is not SittingKind.TABLE:
        refusals.append(
            _refusal(
                "split-no-table",
                "information",
                say(
                    "Only a table can be split by lot. Send blinded and informed parcels as two "
                    "sittings."
                ),
            )
        )
    return refusals + _refused(lambda: zone_named(sitting.zone))


def _refusal(code: str, field: str, message: Message) -> PanelError:
    return PanelError(code, message, field=field)


def title_refused(title: str) -> list[PanelError]:
    """What cannot be right about a title: without one nobody finds the comparison again."""
    if title.strip():
        return []
    return [
        _refusal("title-empty", "title", say("Write the question as a title, to find it again."))
    ]


def one_name(name: str) -> str:
    """A name as people hear it: capitals and spaces make no other name of it."""
    return " ".join(name.casefold().split())


def beers_refused(beers: Iterable[Beer]) -> list[PanelError]:
    """Every name and strength that cannot be right, each with its field."""
    refusals: list[PanelError] = []
    seen: set[str] = set()
    for beer in beers:
        name = one_name(beer.name)
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
        seen.add(name)
        if beer.abv is not None and not lies_within(beer.abv, 0, 100):
            refusals.append(
                _refusal(
                    "abv",
                    f"beer_{beer.letter.lower()}_abv",
                    say("Alcohol by volume lies between 0 and 100 percent."),
                )
            )
    return refusals


def plan_refused(plan: Plan) -> list[PanelError]:
    """Every number of a plan that cannot be reckoned with, each with its field."""
    method = METHODS.get(plan.method)
    refusals = [
        *_refused(lambda: check_alpha(plan.alpha)),
        *_refused(lambda: check_beta(plan.beta)),
        *(() if method is None else _refused(lambda: _check_size(plan))),
        *_refused(lambda: usable_codes(plan.excluded_codes)),
        *(() if method is None else several_refused(plan, method)),
    ]
    if plan.expected is not None and not 1 <= plan.expected <= MAX_TASTERS:
        refusals.append(
            _refusal(
                "expected",
                "expected",
                say(
                    "Say how many tasters you really expect, between 1 and %(most)s.",
                    most=MAX_TASTERS,
                ),
            )
        )
    if plan.wave_size not in WAVE_SIZES:
        refusals.append(
            _refusal(
                "wave_size", "wave_size", say("Trays are poured in waves of 6 or 12. Choose one.")
            )
        )
    return refusals


def several_refused(plan: Plan, method: Method) -> list[PanelError]:
    """What cannot be right about the number of drinks and of cups a taster, where a test takes more
    than two."""
    if method.most_beers <= 2:
        return []
    if not method.beers <= plan.drinks <= method.most_beers:
        return [
            _refusal(
                "drinks",
                "beers",
                say(
                    "This test takes %(fewest)s to %(most)s drinks, and %(given)s are named.",
                    fewest=method.beers,
                    most=method.most_beers,
                    given=plan.drinks,
                ),
            )
        ]
    if method.orders(plan):
        return []
    known = ", ".join(str(cups) for cups in some_of(plan))
    if plan.drinks > MOST_CUPS:
        sentence = say(
            "Of %(drinks)s drinks a taster gets one of these numbers of cups: %(cups)s. More than "
            "%(most)s on one tray are no tasting any more.",
            drinks=plan.drinks,
            cups=known,
            most=MOST_CUPS,
        )
    else:
        sentence = say(
            "Of %(drinks)s drinks a taster gets all, or one of these numbers of cups: %(cups)s. "
            "With another not all pairs could meet equally often.",
            drinks=plan.drinks,
            cups=known,
        )
    return [_refusal("cups", "cups", sentence)]


def lies_within(number: Decimal, low: int, high: int) -> bool:
    """Whether it is a number at all (neither NaN nor Infinity), and one from low to high."""
    return number.is_finite() and low <= number <= high


def _check_size(plan: Plan) -> None:
    try:
        check_size(plan)
    except PanelError as refusal:
        if refusal.field:
            raise
        field = "pd" if plan.d_prime is None else "d_prime"
        raise _refusal(refusal.code, field, refusal.message) from None


def _refused(check: Callable[[], object]) -> list[PanelError]:
    """The refusal that a check raises, if it does."""
    try:
        check()
    except PanelError as refusal:
        return [refusal]
    return []


def _method(plan: Plan) -> list[PanelError]:
    if plan.method not in METHODS:
        return _refused(lambda: method_named(plan.method))
    method = METHODS[plan.method]
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
    refusals = _refused(lambda: unit_of(serving.country))
    if not 10 <= serving.millilitres <= 200:
        refusals.append(
            _refusal("millilitres", "millilitres", say("Pour between 10 and 200 ml into a cup."))
        )
    if serving.temperature is not None and not lies_within(serving.temperature, -5, 95):
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
    elif 10 <= serving.millilitres <= 200:
        refusals += _refused(lambda: container_gives(serving))
    return refusals


def container_gives(serving: Serving) -> None:
    """PanelError (field "container_millilitres") unless a container gives at least one cup."""
    beer_need("", 1, serving.millilitres, serving.container_millilitres, exact=False)
