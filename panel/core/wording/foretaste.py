"""Simulated evenings in sentences: how it really is, what one showed, how often one would."""

from panel.core.foretaste import Evening, Foretaste, Rule, Told, Truth
from panel.core.message import Message, Share, say
from panel.core.names import Aim
from panel.core.wording.in_words import how_often


def say_truth(evening: Evening, rule: Rule) -> Message:
    """The heading of a world: how it really is in it."""
    if rule.aim is Aim.PREFERENCE:
        return _say_preferred(evening)
    match evening.truth:
        case Truth.NONE:
            return say("If nobody can tell")
        case Truth.FAINT:
            return say("A faint difference: %(share)s can tell", share=Share(float(evening.pd)))
        case Truth.PLANNED:
            return say(
                "The difference you plan for: %(share)s can tell", share=Share(float(evening.pd))
            )
        case Truth.CLEAR:
            return say("A clear difference: %(share)s can tell", share=Share(float(evening.pd)))


def _say_preferred(evening: Evening) -> Message:
    """Of a preference: whoever has one, and half of the others, would choose the same drink."""
    would = Share(float((1 + evening.pd) / 2))
    match evening.truth:
        case Truth.NONE:
            return say("If neither is liked better")
        case Truth.FAINT:
            return say("A faint preference: %(share)s would choose the same one", share=would)
        case Truth.PLANNED:
            return say(
                "The preference you plan for: %(share)s would choose the same one", share=would
            )
        case Truth.CLEAR:
            return say("A clear preference: %(share)s would choose the same one", share=would)


def say_evening(evening: Evening, rule: Rule) -> tuple[Message, ...]:
    """What one evening came to, and what the rule makes of it."""
    return _say_count(evening, rule), _say_decided(evening, rule)


def _say_count(evening: Evening, rule: Rule) -> Message:
    right, of = evening.right, len(evening.tasters)
    knew, luck = evening.of(Told.KNEW), evening.of(Told.LUCK)
    if rule.aim is Aim.PREFERENCE:
        if not knew:
            return say("One evening: %(right)s of %(tasters)s chose it.", right=right, tasters=of)
        return say(
            "One evening: %(right)s of %(tasters)s chose it, %(knew)s because they like it better "
            "and %(luck)s because they had to choose one.",
            right=right,
            tasters=of,
            knew=knew,
            luck=luck,
        )
    if not knew:
        return say(
            "One evening: %(right)s of %(tasters)s right, by luck alone.", right=right, tasters=of
        )
    return say(
        "One evening: %(right)s of %(tasters)s right, %(knew)s who could tell and %(luck)s by "
        "luck.",
        right=right,
        tasters=of,
        knew=knew,
        luck=luck,
    )


def _say_decided(evening: Evening, rule: Rule) -> Message:
    decisive = rule.turnout.decisive
    if decisive is None:
        return say("So few tasters decide nothing, whatever they say.")
    shown = rule.decides(evening.right)
    if rule.aim is Aim.SIMILARITY:
        if shown:
            return say(
                "It shows that they are alike enough: at most %(most)s right.", most=decisive
            )
        return say("It does not show that they are alike: more than %(most)s right.", most=decisive)
    if rule.aim is Aim.PREFERENCE:
        if shown:
            return say("It shows a preference: %(fewest)s are needed.", fewest=decisive)
        return say("It shows no preference: %(fewest)s are needed.", fewest=decisive)
    if shown:
        return say("It shows a difference: %(fewest)s are needed.", fewest=decisive)
    return say("It shows nothing: %(fewest)s are needed.", fewest=decisive)


def say_how_often(evening: Evening, rule: Rule) -> Message:
    """How often such an evening shows what the plan asks for: exact, not counted from the dots."""
    often = how_often(evening.shown)
    if evening.truth is Truth.NONE and rule.aim is not Aim.SIMILARITY:
        return say(
            "Shown all the same in %(often)s such evenings: the false alarm your plan allows.",
            often=often,
        )
    if evening.truth is Truth.PLANNED and rule.aim is Aim.SIMILARITY:
        return say(
            "Called alike all the same in %(often)s such evenings: the error your plan allows.",
            often=often,
        )
    return say("Shown in %(often)s such evenings.", often=often)


def say_lead(tasted: Foretaste) -> Message:
    """What is simulated."""
    return say(
        "These %(tasters)s tasters are made up. They follow your plan, in four worlds in which it "
        "is known who can tell: something that no real evening knows.",
        tasters=tasted.rule.turnout.tasters,
    )
