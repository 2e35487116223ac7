"""The question of a comparison as a form: its words as they are typed, and the draft that they say.

Risks and shares are typed as so many in 100, because that is how people say them.
"""

from dataclasses import replace
from decimal import Decimal

from panel.core.alcohol import UNITS
from panel.core.comparison import Beer, Comparison
from panel.core.drafts import beers_refused, title_refused
from panel.core.duties import Duties, duties_words
from panel.core.message import Message, say
from panel.core.methods import METHODS, method_named
from panel.core.names import Aim, Helpers, Looks, Swallow
from panel.core.plan import BALANCED, Plan, Serving
from panel.core.recommendation import recommend, same_difference
from panel.services.plan_comparison import Draft
from panel.settings import Settings
from panel.web.organiser_reading import Reading
from panel.web.organiser_several import PAIR, Several, several_read, words_of_several
from panel.web.organiser_smell import with_smell, words_of_smell

FITTING = "fitting"
"""The answer to "which test?" that leaves the choice to the program."""

SHARES = ("50", "30", "20")
"""In 100: the sizes of a difference that can be chosen without typing."""

OTHER, D_PRIME = "other", "d-prime"
SIZES = (*SHARES, OTHER, D_PRIME)

OPEN = ("helpers", "looks", "allergens")
"""Fields that a fresh form leaves open, though something is usual."""
DUTIES = tuple(duties_words(Duties()))
"""Names of the boxes that say who does what."""
PARAGRAPH = 400


def draft_read(reading: Reading, tasters: int = 0) -> Draft:
    """The draft that a form says; what cannot be read is refused at the reading's end.

    tasters: how many its sittings plan for, as far as is known.
    """
    # In the order of the form, so that refusals are listed as people meet them.
    title, variable = reading.text("title"), reading.text("variable")
    reading.refusals += title_refused(title)
    drink = reading.text("drink", 40)
    several = several_read(reading)
    reading.refusals += beers_refused(several.beers)
    neutral_title = reading.text("neutral_title", 120)
    organised_by = reading.text("organised_by", 120)
    helpers = reading.one_of("helpers", Helpers, say("Say how many people run the evening."))
    return Draft(
        title=title,
        neutral_title=neutral_title,
        variable=variable,
        beers=several.beers,
        plan=_plan(reading, tasters, several),
        serving=_serving(reading),
        drink=drink,
        organised_by=organised_by,
        helpers=helpers or Helpers.TWO,
        duties=Duties(**{name: reading.yes(name) for name in DUTIES}),
    )


def words_of_question(known: Comparison | Draft) -> dict[str, list[str]]:
    """The form as it would be typed for a comparison."""
    words = {
        "title": known.title,
        "neutral_title": known.neutral_title,
        "variable": known.variable,
        "drink": known.drink,
        "organised_by": known.organised_by,
        "helpers": str(known.helpers),
        **{name: "yes" for name, said in duties_words(known.duties).items() if said},
        **_words_of_beers(known.beers),
        **_words_of_plan(known.plan),
        **_words_of_serving(known.serving),
    }
    return {name: [word] for name, word in words.items() if word}


def fresh_question(settings: Settings) -> dict[str, list[str]]:
    """The form before anything is typed. Who helps, whether the drinks look alike and what
    allergens are in them are left open: everybody has to think of these once."""
    usual = Draft(
        title="",
        neutral_title="",
        variable="",
        beers=tuple(Beer(letter=letter, name="") for letter in PAIR),
        plan=Plan(method="triangle"),
        serving=Serving(country=settings.country),
        organised_by=settings.guild,
    )
    words = words_of_question(usual)
    return {name: word for name, word in words.items() if name not in OPEN}


def fitting(plan: Plan) -> str:
    """Id of the method that fits what a plan asks."""
    return recommend(replace(plan, method=measure(plan.aim))).method


def _plan(reading: Reading, tasters: int, several: Several) -> Plan:
    aim = reading.one_of("aim", Aim, say("Say what you want to know.")) or Aim.DIFFERENCE
    pd, d_prime = _size(reading)
    expected = reading.whole("expected", 24)
    attribute = reading.text("attribute", 40)
    stronger = reading.word("stronger", ("", *PAIR), say("Choose one of the two.")) or ""
    asked = Plan(
        method=measure(aim),
        aim=aim,
        pd=pd,
        d_prime=d_prime,
        tasters=tasters,
        expected=expected,
        attribute=attribute,
        stronger=stronger,
        lingers=reading.yes("lingers"),
        reference=reading.word(
            "reference", (BALANCED, *PAIR), say("Choose which of the two is the reference.")
        )
        or BALANCED,
        alpha=_risk(reading, "alpha", "5"),
        beta=_risk(reading, "beta", "20"),
        no_preference=reading.yes("no_preference"),
        ask_sure=reading.yes("ask_sure"),
        ask_went_by=reading.yes("ask_went_by"),
        ask_prefer=reading.yes("ask_prefer"),
        ask_words=reading.yes("ask_words"),
        join_sittings=reading.yes("join_sittings"),
        further_sittings=reading.yes("further_sittings"),
        wave_size=int(reading.word("wave_size", ("6", "12"), say("Choose 6 or 12.")) or 6),
    )
    return _with_method(reading, with_smell(reading, several.of(asked)))


def _with_method(reading: Reading, asked: Plan) -> Plan:
    """The plan with the test that was chosen, or that fits, and the sides it is asked on."""
    chosen = reading.word("method", (FITTING, *METHODS), say("Choose a test."))
    if chosen is None or (chosen == FITTING and reading.refusals):
        return asked  # nothing of it will be kept
    if chosen == FITTING and asked.drinks > len(PAIR):
        return replace(asked, method="ranking", sides=2)
    name = fitting(asked) if chosen == FITTING else chosen
    method = method_named(name)
    one_sided = 1 in method.sides and (not method.directional or bool(asked.stronger))
    asked = replace(asked, sides=1 if one_sided else method.sides[-1])
    if chosen == FITTING and not reading.refusals:
        return same_difference(asked, method)
    return replace(asked, method=name)  # a share is meant as the chosen test finds it


def measure(aim: Aim) -> str:
    """The test by which the size of a difference is measured until one is chosen."""
    return "paired-preference" if aim is Aim.PREFERENCE else "triangle"


def _size(reading: Reading) -> tuple[Decimal | None, Decimal | None]:
    """The smallest difference that matters: a share of tasters, or a d-prime."""
    match reading.word("pd", SIZES, say("Say how large a difference has to be to matter.")):
        case None:
            return None, None
        case "other":
            return _needed(reading, "pd_other", reading.share("pd_other", "25")), None
        case "d-prime":
            return None, _needed(reading, "d_prime", reading.decimal("d_prime", "1.2"))
        case hundredths:
            return Decimal(hundredths) / 100, None


def _needed(reading: Reading, name: str, number: Decimal | None) -> Decimal | None:
    if number is None and not reading.refused(name):
        reading.refuse(name, "size", say("Write the number, or choose another line."))
    return number


def _risk(reading: Reading, name: str, usual: str) -> Decimal:
    risk = reading.share(name, usual)
    if risk is None and not reading.refused(name):
        reading.refuse(name, name, say("Write the risk, such as %(usual)s in 100.", usual=usual))
    elif risk == 1:
        reading.refuse(name, name, _NO_RISK)
    return Decimal(usual) / 100 if risk is None else risk


_NO_RISK: Message = say("A risk of 100 in 100 is no test. Usual are 5 and 20 in 100.")


def _serving(reading: Reading) -> Serving:
    usual = Serving()
    millilitres = reading.whole("millilitres", usual.millilitres)
    temperature = reading.decimal("temperature", "11")
    vessel = reading.text("vessel", 120)
    looks = reading.one_of(
        "looks", Looks, say("Hold them side by side and say whether they can be told apart by eye.")
    )
    swallow = reading.one_of("swallow", Swallow, say("Say what tasters do with the sip."))
    container = reading.whole("container_millilitres", usual.container_millilitres)
    age = reading.whole("minimum_age", usual.minimum_age)
    country = reading.word("country", UNITS, say("Choose whose unit of alcohol is shown."))
    return Serving(
        millilitres=usual.millilitres if millilitres is None else millilitres,
        temperature=temperature,
        vessel=vessel,
        looks=looks or usual.looks,
        swallow=swallow or usual.swallow,
        retaste=reading.yes("retaste"),
        container_millilitres=usual.container_millilitres if container is None else container,
        allergens=reading.listed("allergens"),
        minimum_age=usual.minimum_age if age is None else age,
        country=country or usual.country,
    )


def _words_of_beers(beers: tuple[Beer, ...]) -> dict[str, str]:
    words: dict[str, str] = {}
    for beer in beers:
        prefix = f"beer_{beer.letter.lower()}"
        words[f"{prefix}_name"] = beer.name
        words[f"{prefix}_value"] = beer.value
        words[f"{prefix}_abv"] = _written(beer.abv)
    return words


def _words_of_plan(plan: Plan) -> dict[str, str]:
    hundredths = "" if plan.pd is None else _written(100 * plan.pd)
    size = hundredths if hundredths in SHARES else OTHER if hundredths else D_PRIME
    return {
        "aim": str(plan.aim),
        "alpha": _written(100 * plan.alpha),
        "beta": _written(100 * plan.beta),
        "pd": size,
        "pd_other": hundredths if size == OTHER else "",
        "d_prime": _written(plan.d_prime),
        "expected": "" if plan.expected is None else str(plan.expected),
        "attribute": plan.attribute,
        "stronger": plan.stronger,
        "reference": plan.reference,
        "method": FITTING if _is_fitting(plan) else plan.method,
        "wave_size": str(plan.wave_size),
        **words_of_several(plan),
        **words_of_smell(plan),
        **{
            name: "yes" if getattr(plan, name) else ""
            for name in (
                "lingers",
                "no_preference",
                "ask_sure",
                "ask_went_by",
                "ask_prefer",
                "ask_words",
                "join_sittings",
                "further_sittings",
            )
        },
    }


def _is_fitting(plan: Plan) -> bool:
    """Whether the program would choose the very same test, so that it may go on choosing."""
    if plan.drinks > len(PAIR):
        return plan.method == "ranking"
    return plan.method == fitting(plan)


def _words_of_serving(serving: Serving) -> dict[str, str]:
    return {
        "millilitres": str(serving.millilitres),
        "temperature": _written(serving.temperature),
        "vessel": serving.vessel,
        "looks": str(serving.looks),
        "swallow": str(serving.swallow),
        "retaste": "yes" if serving.retaste else "",
        "container_millilitres": str(serving.container_millilitres),
        "allergens": ", ".join(serving.allergens),
        "minimum_age": str(serving.minimum_age),
        "country": serving.country,
    }


def _written(number: Decimal | None) -> str:
    """A decimal as one would type it: no zeros behind the point, no exponent."""
    if number is None:
        return ""
    written = f"{number:f}"
    return written.rstrip("0").rstrip(".") if "." in written else written
