"""Cautions about the plan kept, the cups and the orders."""

from collections import Counter
from datetime import datetime
from functools import reduce
from itertools import chain

from panel.core.allocation.balance import Balance, balance_of
from panel.core.cautions.caution import TASTERS, Caution, Evidence, Severity
from panel.core.comparison import Sitting
from panel.core.message import Day, Message, Number, say, say_n
from panel.core.methods import ForcedChoice, Ranking, method_named
from panel.core.names import Looks, SittingKind
from panel.core.outcomes import Group, Stratum
from panel.core.position import PlaceChoice, position_effect
from panel.core.rankings import place_in_orders


def words_waived(evidence: Evidence) -> Caution | None:
    """Words that blinded people read and that shared with the variable, waived before sealing."""
    reason = evidence.comparison.waived.strip()
    if not reason:
        return None
    return Caution(
        "words-waived",
        Severity.MIND,
        say("Words that blinded tasters could read also stand in what was changed."),
        say("The organiser let them stand, and gave this reason: “%(reason)s”", reason=reason),
    )


def changed_after_sealing(evidence: Evidence) -> Caution | None:
    """Amendments of the sealed plan."""
    changes = len(evidence.amendments)
    if not changes:
        return None
    return Caution(
        "changed-after-sealing",
        Severity.MIND,
        say_n(
            "The sealed plan was changed once.",
            "The sealed plan was changed %(count)s times.",
            changes,
        ),
        say("Each change stands below, with its time and its reason."),
    )


def another_day(evidence: Evidence) -> Caution | None:
    """Sittings that were opened on another day than the sealed plan says."""
    moved = [
        sitting
        for sitting in evidence.comparison.sittings
        if sitting.opened is not None and sitting.on_another_day(sitting.opened)
    ]
    if not moved:
        return None
    return Caution(
        "another-day",
        Severity.MIND,
        say_n(
            "One sitting was held on another day than was sealed.",
            "%(count)s sittings were held on another day than was sealed.",
            len(moved),
        ),
        reduce(
            lambda left, right: say("%(left)s %(right)s", left=left, right=right),
            [_moved(sitting, sitting.opened) for sitting in moved if sitting.opened is not None],
        ),
    )


def _moved(sitting: Sitting, opened: datetime) -> Message:
    return say(
        "“%(name)s” was planned for %(planned)s and opened on %(opened)s.",
        name=sitting.name,
        planned=Day(sitting.starts, sitting.zone),
        opened=Day(opened, sitting.zone),
    )


def unbalanced_orders(evidence: Evidence) -> Caution | None:
    """Serving orders that are uneven within a group that has a finding of its own; the most uneven
    group is named. Groups are never pooled: one may be even by the other's unevenness."""
    orders = method_named(evidence.comparison.plan.method).orders(evidence.comparison.plan)
    uneven = [
        (balance, stratum)
        for stratum in evidence.outcomes.of(Group.BLINDED, Group.INFORMED, Group.REPEAT)
        if (balance := balance_of(_orders(stratum), orders)).unbalanced
    ]
    if not uneven:
        return None
    balance, stratum = min(uneven, key=lambda found: found[0].p)
    return Caution(
        "unbalanced-orders",
        Severity.MIND,
        _uneven(evidence, stratum, balance),
        _why_uneven(evidence, stratum),
    )


def _orders(stratum: Stratum) -> tuple[str, ...]:
    return tuple(judged.order for judged in stratum.ballots)


def _uneven(evidence: Evidence, stratum: Stratum, balance: Balance) -> Message:
    counts = [count.trays for count in balance.by_order]
    least, most = min(counts), max(counts)
    if len(stratum.sittings) == 1:
        return say(
            "In the sitting “%(sitting)s” some serving orders were counted more often than others: "
            "from %(least)s to %(most)s times.",
            sitting=_sittings(evidence, stratum)[0].name,
            least=least,
            most=most,
        )
    if stratum.group is Group.INFORMED:
        return say(
            "Among the informed some serving orders were counted more often than others: from "
            "%(least)s to %(most)s times.",
            least=least,
            most=most,
        )
    return say(
        "Among the blinded some serving orders were counted more often than others: from "
        "%(least)s to %(most)s times.",
        least=least,
        most=most,
    )


def _why_uneven(evidence: Evidence, stratum: Stratum) -> Message:
    """Parcels and repeat trials have their orders drawn one by one, tables in balanced waves."""
    tables = {sitting.kind is SittingKind.TABLE for sitting in _sittings(evidence, stratum)}
    if tables == {True}:
        return say(
            "The draw was even; trays that were set aside, lost or not needed made it uneven. If "
            "tasters favour a place on the tray, that can shift the result a little."
        )
    if tables == {False}:
        return say(
            "In parcels and repeat trials orders are drawn one by one, so they need not be even. "
            "If tasters favour a place on the tray, that can shift the result a little."
        )
    return say(
        "At tables the draw was even, and trays that were set aside, lost or not needed made it "
        "uneven; in parcels orders are drawn one by one, so they need not be even. If tasters "
        "favour a place on the tray, that can shift the result a little."
    )


def _sittings(evidence: Evidence, stratum: Stratum) -> tuple[Sitting, ...]:
    return tuple(
        sitting for sitting in evidence.comparison.sittings if sitting.id in stratum.sittings
    )


def favoured_place(evidence: Evidence) -> Caution | None:
    """A place on the tray that was chosen more often than its cups explain."""
    plan = evidence.comparison.plan
    ballots = evidence.among(*TASTERS)
    where: Message | None = None
    match method_named(plan.method):
        case Ranking():
            place = place_in_orders(ballots)
            where = None if place is None else _where_in_orders(*place)
        case ForcedChoice():
            effect = position_effect(plan, ballots)
            if effect.favoured is not None:
                where = _where(effect.favoured, effect.ballots)
    if where is None:
        return None
    return Caution(
        "favoured-place",
        Severity.NOTE,
        where,
        say(
            "While orders are balanced no drink gains by it. But tasters who go by the place "
            "cannot go by the taste, and a real difference is then easier to miss."
        ),
    )


def _where_in_orders(position: int, mean: float, even: float) -> Message:
    return say(
        "Cups in place %(place)s of the tray were ranked %(mean)s on average; %(even)s would be "
        "even.",
        place=position,
        mean=Number(mean, 1),
        even=Number(even, 1),
    )


def _where(place: PlaceChoice, ballots: int) -> Message:
    if len(place.positions) == 1:
        return say(
            "The cup in place %(place)s was chosen %(chosen)s times of %(ballots)s; about "
            "%(expected)s would be even.",
            place=place.positions[0],
            chosen=place.chosen,
            ballots=ballots,
            expected=round(place.expected),
        )
    return say(
        "The cups in places %(places)s were put together %(chosen)s times of %(ballots)s; about "
        "%(expected)s would be even.",
        places=" + ".join(map(str, place.positions)),
        chosen=place.chosen,
        ballots=ballots,
        expected=round(place.expected),
    )


def codes_reused(evidence: Evidence) -> Caution | None:
    """Codes that stand on more than one used tray of a sitting."""
    codes = Counter(
        chain.from_iterable(
            ((tray.sitting, code) for code in tray.codes()) for tray in evidence.outcomes.served
        )
    )
    again = sum(count > 1 for count in codes.values())
    if not again:
        return None
    return Caution(
        "codes-reused",
        Severity.NOTE,
        say_n(
            "One code stood on more than one tray of a sitting.",
            "%(count)s codes stood on more than one tray of a sitting.",
            again,
        ),
        say(
            "The sitting needed more cups than there are codes. No drink is tied to a code, but "
            "tasters who compare codes may believe that it is."
        ),
    )


def looks_different(evidence: Evidence) -> Caution | None:
    """Drinks that can be told apart by eye, with nothing to hide it."""
    if evidence.comparison.serving.looks is not Looks.DIFFERENT:
        return None
    return Caution(
        "looks-different",
        Severity.GRAVE,
        say("The drinks look different, and nothing hid it."),
        say(
            "Tasters may have told them apart by eye. Whatever is found here need not be a matter "
            "of taste."
        ),
    )
