"""Cautions about the plan kept, the cups and the orders."""

from collections import Counter
from itertools import chain

from panel.core.allocation.balance import Balance, balance_of
from panel.core.cautions.caution import TASTERS, Caution, Evidence, Severity
from panel.core.message import Message, say, say_n
from panel.core.methods import method_named
from panel.core.names import Looks
from panel.core.position import PlaceChoice, position_effect


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


def unbalanced_orders(evidence: Evidence) -> Caution | None:
    """Serving orders that are uneven among the ballots counted."""
    balance = _balance(evidence)
    if balance is None or not balance.unbalanced:
        return None
    most = max(balance.by_order, key=lambda count: count.trays)
    least = min(balance.by_order, key=lambda count: count.trays)
    return Caution(
        "unbalanced-orders",
        Severity.MIND,
        say(
            "Some serving orders were counted more often than others: from %(least)s to %(most)s "
            "times.",
            least=least.trays,
            most=most.trays,
        ),
        say(
            "The draw was even; trays that were set aside, lost or not needed made it uneven. If "
            "tasters favour a place on the tray, that can shift the result a little."
        ),
    )


def _balance(evidence: Evidence) -> Balance | None:
    plan = evidence.comparison.plan
    orders = method_named(plan.method).orders(plan)
    counted = [judged.order for judged in evidence.among(*TASTERS)]
    return balance_of(counted, orders) if counted else None


def favoured_place(evidence: Evidence) -> Caution | None:
    """A place on the tray that was chosen more often than its cups explain."""
    plan = evidence.comparison.plan
    effect = position_effect(plan, evidence.among(*TASTERS))
    if effect.favoured is None:
        return None
    return Caution(
        "favoured-place",
        Severity.NOTE,
        _where(effect.favoured, effect.ballots),
        say(
            "While orders are balanced no drink gains by it. But tasters who go by the place "
            "cannot go by the taste, and a real difference is then easier to miss."
        ),
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
