"""The defaults of the organiser's forms as sentences, made from what stands in the form now."""

import re
from decimal import Decimal
from functools import cache, reduce
from typing import Any

from babel import Locale

from panel.catalogue import languages, locale_of
from panel.core.alcohol import UNITS
from panel.core.how_to_taste import how_to_taste
from panel.core.message import Message, say
from panel.core.methods import METHODS, forced_choice
from panel.core.names import Aim, Standing, Swallow
from panel.core.plan import Plan, Serving
from panel.core.planning import planned_pc, tasters_needed
from panel.web.forms import Typed
from panel.web.organiser_question_form import D_PRIME, DUTIES, FITTING, OTHER, SHARES
from panel.web.organiser_several import FURTHER
from panel.web.organiser_smell import smell_sentence

STANDINGS: dict[Standing, Message] = {
    Standing.DRAFTED: say("Drafted"),
    Standing.SEALED: say("Sealed"),
    Standing.SERVING: say("Being served"),
    Standing.CLOSED: say("Closed"),
    Standing.PUBLISHED: say("Published"),
}
AIMS: dict[Aim, Message] = {
    Aim.DIFFERENCE: say("Can anybody tell the two apart?"),
    Aim.SIMILARITY: say("May we say that hardly anybody can tell?"),
    Aim.PREFERENCE: say("Which of the two do people like better?"),
}
AIMS_OF_SEVERAL: dict[Aim, Message] = {
    **AIMS,
    Aim.DIFFERENCE: say("Which of them has more of one thing, and in which order do they come?"),
    Aim.PREFERENCE: say("Which of them do people like better, and in which order do they come?"),
}
_ASKED = {
    "ask_sure": say("how sure they are"),
    "ask_went_by": say("what they went by"),
    "ask_prefer": say("which cup they like best"),
    "ask_words": say("anything they would like to say"),
}
_SIZES = (
    say("Half of the people can truly tell"),
    say("30 in 100 can truly tell"),
    say("20 in 100 can truly tell"),
)


def question_sentences(typed: Typed, method: str | None) -> dict[str, Any]:
    """What the form of a question says of its defaults. `method`: the one kept so far."""
    return {
        "aim_sentence": _aim(typed),
        "second_parts_sentence": _second_parts(typed),
        "test_sentence": _test(typed.value("method"), method),
        "target_sentence": _target(typed),
        "risk_sentence": _risks(typed),
        "asked_sentence": _asked(typed),
        "rules_sentence": _rules(typed),
        "smell_sentence": smell_sentence(typed),
        "taste_sentence": _taste(typed),
        "stock_sentence": _stock(typed),
        "sizes": sizes(),
    }


def sitting_sentences(typed: Typed) -> dict[str, Any]:
    """What the form of a sitting says of its defaults."""
    return {
        "kind_sentence": {
            "parcel": say("Each taster gets a parcel at home."),
            "repeat": say("One taster tries again and again: repeat trials."),
        }.get(typed.value("kind"), say("Tasters sit at a table and are served.")),
        "sheet_sentence": say(
            "Times are those of %(zone)s; sheets are in %(language)s on %(paper)s paper.",
            zone=typed.value("zone"),
            language=language_name(typed.value("language")),
            paper="Letter" if typed.value("paper") == "letter" else "A4",
        ),
        "languages": [(one, language_name(one)) for one in languages()],
        "date_type": _type("date", r"\d{4}-\d\d-\d\d", typed),
        "time_type": _type("time", r"\d\d:\d\d", typed),
    }


@cache
def sizes() -> tuple[tuple[str, Message, Message], ...]:
    """The differences that can be chosen, each with the tasters that a triangle needs for it."""
    rows = []
    for hundredths, text in zip(SHARES, _SIZES, strict=True):
        plan = Plan(method="triangle", pd=Decimal(hundredths) / 100)
        method = forced_choice(plan.method)
        needed = tasters_needed(plan, method, planned_pc(plan, method))
        assert needed is not None  # three sizes that a hall can answer
        hint = say(
            "About %(tasters)s tasters with a triangle test.", tasters=needed.holding_tasters
        )
        rows.append((hundredths, text, hint))
    return tuple(rows)


def language_name(language: str) -> str:
    """A language as it calls itself; the word as it is where it is none."""
    if language not in languages():
        return language
    locale: Locale = locale_of(language)
    return str(locale.get_language_name(language) or language)


def _type(usual: str, pattern: str, typed: Typed) -> str:
    """A browser drops what it cannot read as a date or time: that comes back as plain text."""
    word = typed.value(usual)
    return (
        usual if not word or (re.fullmatch(pattern, word) and not typed.errors(usual)) else "text"
    )


def _aim(typed: Typed) -> Message:
    aim, size = typed.value("aim"), typed.value("pd")
    share = size if size in SHARES else typed.value("pd_other") if size == OTHER else ""
    several = any(typed.value(f"beer_{letter.lower()}_name") for letter in FURTHER)
    asked = AIMS_OF_SEVERAL if several else AIMS
    question = asked[Aim(aim)] if aim in set(Aim) else asked[Aim.DIFFERENCE]
    if share and several:
        return say(
            "%(question)s It matters to you if %(share)s in 100 truly tell one from the others.",
            question=question,
            share=share,
        )
    if share:
        return say("%(question)s %(matters)s", question=question, matters=_matters(aim, share))
    if size == D_PRIME and typed.value("d_prime"):
        return say(
            "%(question)s It matters to you from a d-prime of %(number)s.",
            question=question,
            number=typed.value("d_prime"),
        )
    return question


def _matters(aim: str, share: str) -> Message:
    match aim:
        case Aim.SIMILARITY:
            return say("From %(share)s in 100 who truly can it would be too many.", share=share)
        case Aim.PREFERENCE:
            return say(
                "It matters to you if %(share)s in 100 truly prefer the same one.", share=share
            )
        case _:
            return say("It matters to you if %(share)s in 100 truly can.", share=share)


def _second_parts(typed: Typed) -> Message:
    own = bool(typed.value("organiser_tastes"))
    if any(typed.value(name) for name in DUTIES if name != "organiser_tastes"):
        return say("Some of you have a second part, ticked here.")
    if own:
        return say("You taste too. Nobody else has a second part.")
    return say(
        "Nobody has a second part: whoever carries the trays did not brew, does not pour and has "
        "not seen the key; none of you tastes, you neither."
    )


def _test(chosen: str, kept: str | None) -> Message:
    if chosen in METHODS:
        return say("The test: %(method)s, as you chose.", method=METHODS[chosen].name)
    if chosen == FITTING and kept:
        return say("The test: the one that fits, so far the %(method)s.", method=METHODS[kept].name)
    return say("The test: the one that fits. The next page says which, and why.")


def _target(typed: Typed) -> Message:
    word = typed.value("attribute")
    told = (
        say("Tasters are asked which cup is more %(word)s.", word=word)
        if word
        else say("Tasters are not told what to look for.")
    )
    return say("%(told)s The taste lingers.", told=told) if typed.value("lingers") else told


def _risks(typed: Typed) -> Message:
    return say(
        "A find counts if guessing alone would bring it at most %(alpha)s times in 100 (alpha); "
        "a difference of that size may be missed %(beta)s times in 100 (beta).",
        alpha=typed.value("alpha"),
        beta=typed.value("beta"),
    )


def _asked(typed: Typed) -> Message:
    asked = [message for name, message in _ASKED.items() if typed.value(name)]
    if not asked:
        return say("Beside the deciding question ballots ask only what the taster knew before.")
    return say(
        "Beside the deciding question ballots ask what the taster knew before, %(asked)s.",
        asked=reduce(_both, asked),
    )


def _both(left: Message, right: Message) -> Message:
    return say("%(left)s, %(right)s", left=left, right=right)


def _rules(typed: Typed) -> Message:
    return say(
        "%(total)s %(further)s Trays are poured %(wave)s at a time.",
        total=say("Sittings of the same kind make one total.")
        if typed.value("join_sittings")
        else say("Each sitting is counted for itself."),
        further=say("Sittings may be added after sealing, until it is closed.")
        if typed.value("further_sittings")
        else say("After sealing no sitting is added."),
        wave=typed.value("wave_size"),
    )


def _taste(typed: Typed) -> Message:
    swallow = typed.value("swallow")
    known = Swallow(swallow) if swallow in set(Swallow) else Swallow.EITHER
    return how_to_taste(Serving(swallow=known, retaste=bool(typed.value("retaste"))))


def _stock(typed: Typed) -> Message:
    country = typed.value("country")
    return say(
        "It comes in containers of %(ml)s ml. Tasters are %(age)s or older. Alcohol is told in "
        "%(unit)s.",
        ml=typed.value("container_millilitres"),
        age=typed.value("minimum_age"),
        unit=UNITS[country].name if country in UNITS else country,
    )
