"""Seal and draw: plan, key and secret make the seal, and the secret deals every tray."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from panel.core.allocation.comparison_draw import draw_one
from panel.core.allocation.cover_names import draw_cover_names
from panel.core.allocation.dice import lock_of
from panel.core.allocation.draw import COVER_NAMES, Stream
from panel.core.allocation.draw_facts import all_facts
from panel.core.allocation.seal import seal_text
from panel.core.allocation.trays import DrawnTray
from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.message import Message, say, say_n
from panel.core.methods import method_named
from panel.core.names import Blinding
from panel.core.plan_document import comparison_from
from panel.publishing.bundle_facts import draw_files
from panel.publishing.bundle_reading import json_of
from panel.publishing.bundle_rebuilt import Rebuilt
from panel.publishing.check_line import CheckLine, right, wrong


def check_seal(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[CheckLine]:
    """sealed.json makes the seal, and holds this plan, key and secret."""
    seal = known.comparison.seal
    digest = seal.digest if seal else ""
    if hashlib.sha256(files["sealed.json"]).hexdigest() != digest:
        yield wrong("seal", say("The SHA-256 of sealed.json is not the seal in comparison.json."))
    elif files["sealed.json"] != known.opened.sealed_bytes():
        yield wrong("seal", _what_differs(files, known))
    else:
        yield right(
            "seal",
            say(
                "Plan, key and secret make the seal %(seal)s. Compare it with the poster.",
                seal=seal_text(digest),
            ),
        )


def _what_differs(files: Mapping[str, bytes], known: Rebuilt) -> Message:
    sealed = json_of(files["sealed.json"])
    if sealed.get("plan") != known.opened.document:
        return say("plan.json is not the plan that was sealed.")
    if sealed.get("key") != known.opened.key_words():
        return say("cups.csv is not the key that was sealed.")
    if sealed.get("informed", []) != sorted(known.opened.informed_sealed()):
        return say("trays.csv has others informed than was sealed.")
    return say("sealed.json holds something else than plan, key and secret.")


def check_dice(known: Rebuilt) -> Iterator[CheckLine]:
    """Where members threw dice: the secret follows from both parts; their lock is told."""
    dice = known.opened.dice
    if dice is None:
        return
    if dice.secret() != known.opened.secret:
        yield wrong("dice", say("The secret does not follow from the dice and the random part."))
        return
    lock = lock_of(dice.own, all_facts(comparison_from(known.opened.document)))
    yield right(
        "dice",
        say(
            "The secret follows from the dice “%(dice)s” and a part whose lock was %(lock)s. "
            "Compare the lock with what was noted before the throw.",
            dice=dice.text,
            lock=seal_text(lock),
        ),
    )


def check_draws(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[CheckLine]:
    """Every sitting dealt once more; added ones too, which follow from the sealed secret."""
    comparison, first = known.comparison, 1
    for sitting in comparison.sittings:
        yield _drawn(known, sitting, first)
        first += sum(tray.sitting == sitting.id for tray in known.counted.trays)
    yield from _orders(known)
    yield from _cover_names(comparison, known)
    expected = dict(draw_files(comparison, known.opened))
    for name in sorted({*expected, *(name for name in files if name.startswith("draw/"))}):
        if name not in expected or json_of(files[name]) != expected[name]:
            yield wrong("draw", say("%(name)s is not what this draw followed from.", name=name))


def _drawn(known: Rebuilt, sitting: Sitting, first: int) -> CheckLine:
    draw = draw_one(known.opened.secret, known.comparison, sitting, first)
    here = [tray for tray in known.counted.trays if tray.sitting == sitting.id]
    if len(here) != len(draw.trays) or sitting.drawn not in (0, draw.drawn):
        return wrong(
            "draw",
            say(
                "%(sitting)s: %(here)s trays are here and %(drawn)s were drawn.",
                sitting=sitting.name,
                here=len(here),
                drawn=len(draw.trays),
            ),
        )
    for drawn, tray in zip(draw.trays, here, strict=True):
        if not _same(drawn, tray, known):
            return wrong(
                "draw",
                say(
                    "%(sitting)s: tray %(tray)s was drawn with the cups %(cups)s, and is here with "
                    "others, or in another place.",
                    sitting=sitting.name,
                    tray=drawn.number,
                    cups=_cups_in_words(drawn),
                ),
            )
    return right(
        "draw",
        say_n(
            "%(sitting)s: the one tray is as the secret deals it.",
            "%(sitting)s: all %(count)s trays are as the secret deals them.",
            len(here),
            sitting=sitting.name,
        ),
    )


def _same(drawn: DrawnTray, tray: Tray, known: Rebuilt) -> bool:
    facts = (drawn.number, drawn.wave, drawn.place, drawn.spare, drawn.codes(), drawn.order)
    here = (tray.number, tray.wave, tray.place, tray.spare, tray.codes())
    informed = tray.number in known.counted.informed
    return facts == (*here, known.counted.key[tray.number]) and drawn.informed == informed


def _cups_in_words(drawn: DrawnTray) -> str:
    return ", ".join(f"{cup.code} {cup.beer}" for cup in drawn.cups)


def _orders(known: Rebuilt) -> Iterable[CheckLine]:
    """The set of orders in the plan is the method's."""
    plan = known.comparison.plan
    written: Any = known.opened.document["orders"]
    if written != list(method_named(plan.method).orders(plan)):
        yield wrong("draw", say("The plan's set of serving orders is not that of its test."))


def _cover_names(comparison: Comparison, known: Rebuilt) -> Iterable[CheckLine]:
    if comparison.blinding is not Blinding.TRIPLE:
        return
    letters = [beer.letter for beer in comparison.beers]
    drawn = draw_cover_names(Stream(known.opened.secret, COVER_NAMES), letters)
    if {beer.letter: beer.cover_name for beer in comparison.beers} == drawn:
        yield right("draw", say("The cover names are as the secret deals them."))
    else:
        yield wrong("draw", say("The cover names are not as the secret deals them."))
