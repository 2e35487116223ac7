"""Cautions about who tasted and what they knew."""

from collections import Counter, defaultdict
from collections.abc import Iterable

from panel.core.cautions.caution import TASTERS, Caution, Evidence, Severity
from panel.core.comparison import Tray
from panel.core.difference import groups_drawn, some_groups_drawn
from panel.core.message import Message, say, say_n
from panel.core.methods import Detection, method_named
from panel.core.names import Knew
from panel.core.outcomes import Group, same_name


def told_at_the_table(evidence: Evidence) -> Caution | None:
    """Tasters of a blinded sitting who knew the variable or had helped."""
    told = len(evidence.among(Group.TOLD))
    if not told:
        return None
    return Caution(
        "told-at-the-table",
        Severity.MIND,
        say_n(
            "One taster at a blinded table knew beforehand.",
            "%(count)s tasters at a blinded table knew beforehand.",
            told,
        ),
        say(
            "They said before the first cup that they knew what was changed, or had helped to brew "
            "or pour. By the locked rule they are not in the blinded count; the blinded result is "
            "given without them and with them. Whom else they told, nobody knows."
        ),
    )


def informed_knew(evidence: Evidence) -> Caution | None:
    """An informed group: what it can stand for."""
    informed = len(evidence.among(Group.INFORMED))
    if not informed:
        return None
    return Caution(
        "informed-knew",
        Severity.MIND,
        say_n(
            "One taster was told what to look for.",
            "%(count)s tasters were told what to look for.",
            informed,
        ),
        say(
            "Their result says what people find who are told; it cannot stand for people who are "
            "not. The two groups are never added up."
        ),
    )


def did_not_say(evidence: Evidence) -> Caution | None:
    """Ballots of blinded sittings that leave open what the taster knew."""
    silent = sum(not judged.knew for judged in evidence.among(Group.BLINDED))
    if not silent:
        return None
    return Caution(
        "did-not-say",
        Severity.NOTE,
        say_n(
            "One blinded ballot does not say what its taster knew.",
            "%(count)s blinded ballots do not say what their tasters knew.",
            silent,
        ),
        say("They are counted as blinded; some of these tasters may have known."),
    )


def helped(evidence: Evidence) -> Caution | None:
    """Tasters who helped to brew or pour, wherever they sat."""
    hands = sum(Knew.HELPED in judged.knew for judged in evidence.among(*TASTERS))
    if not hands:
        return None
    return Caution(
        "helped",
        Severity.MIND,
        say_n(
            "One taster had helped to brew or pour.",
            "%(count)s tasters had helped to brew or pour.",
            hands,
        ),
        say(
            "Whoever made or poured the drinks may know them again by more than what was changed. "
            "In a blinded sitting they are not in the blinded count."
        ),
    )


def tasted_before(evidence: Evidence) -> Caution | None:
    """Tasters who say that they have done this test before."""
    again = sum(Knew.BEFORE in judged.knew for judged in evidence.among(*TASTERS))
    if not again:
        return None
    return Caution(
        "tasted-before",
        Severity.NOTE,
        say_n(
            "One taster had done this test before.",
            "%(count)s tasters had done this test before.",
            again,
        ),
        say(
            "They are counted. If they sat in two sittings of this comparison, they are counted "
            "twice, and the numbers then look surer than they are."
        ),
    )


def counted_twice(evidence: Evidence) -> Caution | None:
    """One hand-out number on two counted trays of a sitting."""
    trays: dict[tuple[str, str], int] = defaultdict(int)
    for judged in evidence.among(*TASTERS):
        if judged.taster.strip().isdecimal():  # a nickname may be two people's: see below
            trays[judged.sitting, judged.taster.strip().lstrip("0")] += 1
    people = sum(count > 1 for count in trays.values())
    if not people:
        return None
    return Caution(
        "counted-twice",
        Severity.GRAVE,
        say_n(
            "One number of the hand-out list stands on more than one counted ballot.",
            "%(count)s numbers of the hand-out list stand on more than one counted ballot.",
            people,
        ),
        say(
            "The test takes every ballot for another person. Where one person is counted twice, "
            "the numbers look surer than they are."
        ),
    )


def same_nickname(evidence: Evidence) -> Caution | None:
    """One nickname on two counted trays: perhaps one person, perhaps not."""
    trays: dict[str, int] = defaultdict(int)
    for judged in evidence.among(*TASTERS):
        name = same_name(judged.taster)
        if name and not name.isdecimal():
            trays[name] += 1
    names = sum(count > 1 for count in trays.values())
    if not names:
        return None
    return Caution(
        "same-nickname",
        Severity.NOTE,
        say_n(
            "One nickname stands on more than one counted ballot.",
            "%(count)s nicknames stand on more than one counted ballot.",
            names,
        ),
        say(
            "It may be two people of one name. If it is one person, they are counted twice, and "
            "the numbers look surer than they are."
        ),
    )


def groups_not_drawn(evidence: Evidence) -> Caution | None:
    """Informed and blinded groups that came about by something else than lots."""
    both = evidence.among(Group.INFORMED) and evidence.among(Group.BLINDED, Group.TOLD)
    if not both or groups_drawn(evidence.comparison):
        return None
    title = say("Nobody drew lots for who was told and who was not.")
    if some_groups_drawn(evidence.comparison):
        title = say("Lots decided who was told in some of the sittings only.")
    return Caution(
        "groups-not-drawn",
        Severity.MIND,
        title,
        say(
            "Where the two groups differ it may be who came, when, or what they had drunk before, "
            "and not what they knew."
        ),
    )


def feedback(evidence: Evidence) -> Caution | None:
    """Trays whose taster looked at their own answer before closing."""
    served = evidence.outcomes.served
    opened = [tray for tray in served if tray.number in evidence.revealed]
    if not opened:
        return None
    return Caution(
        "feedback",
        Severity.NOTE,
        say_n(
            "The answer of one tray was opened once its ballot was final.",
            "The answers of %(count)s trays were opened once their ballots were final.",
            len(opened),
        ),
        _what_it_taught(opened, served),
    )


def _what_it_taught(opened: Iterable[Tray], served: Iterable[Tray]) -> Message:
    """Whether a code of an opened tray stands on another one of its sitting."""
    codes = Counter((tray.sitting, code) for tray in served for code in tray.codes())
    if any(codes[tray.sitting, code] > 1 for tray in opened for code in tray.codes()):
        return say(
            "In repeat trials and parcels a taster may look before the next tray, and learn. "
            "Every order was drawn by itself, but some of their codes stand on other trays too."
        )
    return say(
        "In repeat trials and parcels a taster may look before the next tray, and learn. No "
        "code of theirs stands on another tray, and every order was drawn by itself."
    )


def one_taster(evidence: Evidence) -> Caution | None:
    """Repeat trials: what they can stand for."""
    if not evidence.among(Group.REPEAT):
        return None
    return Caution(
        "one-taster",
        Severity.MIND,
        say("Repeat trials speak of one taster."),
        say(
            "However many trays one person tastes, they say nothing of how many people can tell. "
            "They are never added to tasters."
        ),
    )


def attribute_named(evidence: Evidence) -> Caution | None:
    """A method whose question names what was changed."""
    plan = evidence.comparison.plan
    if not method_named(plan.method).names_attribute(plan):
        return None
    return Caution(
        "attribute-named",
        Severity.MIND,
        say("The question told every taster what to look for: %(what)s.", what=plan.attribute),
        say(
            "So the result says what people find who look for it. It does not say whether they "
            "would have noticed anything by themselves."
        ),
    )


def both_asked(evidence: Evidence) -> Caution | None:
    """A method that asks the same taster about a cup of each drink."""
    method = method_named(evidence.comparison.plan.method)
    if not isinstance(method, Detection) or not method.paired:
        return None
    return Caution(
        "both-asked",
        Severity.MIND,
        say("Every taster was asked about a cup of each drink."),
        say(
            "Whoever guessed that there was one of each compared the two cups, which is easier "
            "than to hold one cup against a remembered drink."
        ),
    )
