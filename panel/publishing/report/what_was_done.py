"""The sections on what was asked, served and to whom."""

from collections.abc import Iterable

from panel.core.comparison import Comparison
from panel.core.message import Message, say, say_n
from panel.core.methods import method_named
from panel.core.names import Information
from panel.core.nose_first import cup_questions, instruction
from panel.core.result import Result
from panel.core.side_questions import ballot_questions
from panel.core.wording import (
    Row,
)
from panel.printing.blocks import Block, space
from panel.publishing import conditions
from panel.publishing.conditions import NOT_RECORDED, strength
from panel.publishing.report.setting import (
    SENTENCE,
    table,
    words,
)
from panel.publishing.report.standards import modelled_on
from panel.publishing.report.told import Told, typed


def purpose(told: Told) -> list[Block]:
    """What was asked, and who asked."""
    known, plan = told.comparison, told.result.plan
    method = method_named(plan.method)
    aim = next(row for row in conditions.planned(told.result, known) if row.label.id == "The aim")
    return told.rows(
        (
            Row(say("The comparison"), typed(known.title)),
            Row(say("What was changed"), typed(known.variable)),
            aim,
            Row(say("The question"), method.in_a_sentence),
            Row(say("In charge"), typed(known.organised_by)),
        )
    )


def samples(told: Told) -> list[Block]:
    """What was compared, as fully as it was written down."""
    speak, known = told.speak, told.comparison
    nothing = speak(NOT_RECORDED)
    heads = [speak(say("Letter")), speak(say("Name")), speak(say("What was changed")),
             speak(say("Alcohol"))]  # fmt: skip
    rows = [
        (
            beer.letter,
            beer.name or nothing,
            beer.value or nothing,
            nothing if beer.abv is None else f"{speak(strength(beer.abv))} %",
        )
        for beer in known.beers
    ]
    blocks = table(heads, rows, (1.1, 2.2, 2.4, 1.4), told.room)
    noted = [
        Row(say("Noted of %(letter)s", letter=beer.letter), typed(beer.notes))
        for beer in known.beers
        if beer.notes
    ]
    return [
        *blocks,
        space(1.5),
        *told.rows(
            (
                Row(say("Drink"), typed(known.drink)),
                *noted,
                Row(say("Batch, packaging date, age"), NOT_RECORDED),
                Row(say("Allergens"), typed(", ".join(known.serving.allergens))),
            )
        ),
    ]


def method(told: Told) -> list[Block]:
    """The test, what tasters were told to do, and how orders and codes were made."""
    known, plan = told.comparison, told.result.plan
    named = method_named(plan.method)
    first = cup_questions(named, known.plan)[0].when
    asked = " · ".join(
        dict.fromkeys(told.speak(one.text) for one in ballot_questions(named, known.plan))
    )
    return told.rows(
        (
            Row(say("Test"), named.name),
            Row(say("Standard"), modelled_on(plan.method) or NOT_RECORDED),
            Row(say("Instruction"), instruction(named, first)),
            Row(say("Asked on every card"), typed(asked)),
            *_chance(told.result),
            Row(say("Serving orders"), _orders(len(named.orders(known.plan)))),
            Row(say("Codes"), say("three digits for each cup, drawn with the orders")),
            Row(
                say("Who drew"),
                say("Panel, from one secret that was sealed with the plan and is open now"),
            ),
        )
    )


def _chance(result: Result) -> Iterable[Row]:
    if result.plan.chance is not None:
        yield Row(say("Right by guessing"), say("%(chance)s", chance=str(result.plan.chance)))


def _orders(many: int) -> Message:
    return say_n(
        "one, for every tray",
        "all %(count)s of them, each as often as the number of trays allows, in an order by lot",
        many,
    )


def tasters(told: Told) -> list[Block]:
    """How many, and how they were chosen."""
    result, known = told.result, told.comparison
    held = [sitting for sitting in known.sittings if not sitting.not_held]
    apart = any(one.information is not Information.BLINDED for one in held)
    rows = [
        Row(conditions.TASTERS_PLANNED, say("%(count)s", count=result.plan.tasters)),
        Row(say("Trays handed out"), say("%(count)s", count=result.flow.handed_out)),
        Row(say("Ballots counted"), say("%(count)s", count=result.flow.counted)),
    ]
    if result.flow.told:
        label = say("Counted apart: told at the table")
        rows.append(Row(label, say("%(count)s", count=result.flow.told)))
    rows.append(Row(say("How they were chosen"), NOT_RECORDED))
    if apart:
        rows.append(Row(say("Who was told, and who was not"), _grouped(known)))
    rows += [
        Row(say("Their experience"), NOT_RECORDED),
        Row(
            say("Youngest age admitted"),
            say("%(age)s years, asked at the door", age=known.serving.minimum_age),
        ),
    ]
    return told.rows(rows)


def _grouped(known: Comparison) -> Message:
    drawn = [one.groups_drawn for one in known.sittings if not one.not_held]
    split = any(one.information is Information.SPLIT for one in known.sittings)
    if split and len(drawn) == 1:
        return say("lots decided, tray by tray")
    if all(drawn):
        return say("lots decided who came to which sitting")
    if split:
        return say("lots decided within a split sitting; who came to which sitting was not drawn")
    return say("not drawn by lot: who came to which sitting was left to people")


def surroundings(told: Told) -> list[Block]:
    """Where, when, how it was served, and what was said beforehand."""
    speak = told.speak
    heads = [speak(say("Sitting")), speak(say("When and where")), speak(say("Handed out")),
             speak(say("Counted"))]  # fmt: skip
    rows = []
    occasions = conditions.sittings(told.result, told.comparison)
    for one in occasions:
        place = one.sitting.place or speak(NOT_RECORDED)
        rows.append(
            (
                f"{one.sitting.name}: {speak(one.kind)}",
                f"{speak(one.when)}, {place}",
                str(one.flow.handed_out) if one.flow else "",
                str(one.flow.counted + one.flow.told) if one.flow else "",
            )
        )
    blocks = [
        *table(heads, rows, (3.0, 3.4, 1.2, 1.1), told.room),
        space(2),
        *told.rows(_serving(told.comparison)),
    ]
    for one in occasions:
        if one.sitting.information is Information.BLINDED or one.sitting.not_held:
            continue
        said = say("Said beforehand to those of “%(name)s” who were told, word for word",
                   name=one.sitting.name)  # fmt: skip
        told_words = one.sitting.told or speak(NOT_RECORDED)
        blocks += [told.sub(said), words(told_words, told.room, SENTENCE), space(2)]
    return blocks


def _serving(known: Comparison) -> Iterable[Row]:
    """How it was served, without what stands under the samples; and what nobody wrote down."""
    elsewhere = ("Drink", "What was changed", "Allergens", "In charge")
    yield from (row for row in conditions.served(known) if row.label.id not in elsewhere)
    yield Row(say("Light, noise, smells, warmth of the room"), NOT_RECORDED)
    yield Row(say("Between cups: water, food, rest"), NOT_RECORDED)
