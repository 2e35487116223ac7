"""Cautions about who was not blind, by the record or by the plan."""

from panel.core.blinding_kept import lowest
from panel.core.cautions.caution import TASTERS, Caution, Evidence, Severity
from panel.core.message import Message, say, say_n
from panel.core.names import Blinding, Knew, Reason
from panel.core.wording.blinding_kept import LEVEL


def single_blinding(evidence: Evidence) -> Caution | None:
    """Whoever served could know the cups, by the plan."""
    if evidence.comparison.blinding is not Blinding.SINGLE:
        return None
    return Caution(
        "single-blinding",
        Severity.MIND,
        say("Whoever served could know which cup was which."),
        say("A face, a word or the way a cup is put down can tell, without anybody meaning it."),
    )


def less_blind(evidence: Evidence) -> Caution | None:
    """A sitting that by the record was less blind than planned."""
    lowered = tuple(kept for kept in evidence.blinding if kept.lowered)
    level = lowest(lowered)
    if level is None:
        return None
    words = {"level": LEVEL[level], "planned": LEVEL[evidence.comparison.blinding]}
    title = say("Planned as %(planned)s blinding; by the record it was %(level)s at most.", **words)
    if len(lowered) < len(evidence.blinding):
        title = say_n(
            "Planned as %(planned)s blinding; by the record one sitting was %(level)s at most.",
            "Planned as %(planned)s blinding; by the record %(count)s sittings were less, and at "
            "the lowest %(level)s.",
            len(lowered),
            **words,
        )
    return Caution("less-blind", Severity.MIND, title, _less_blind(level))


def _less_blind(level: Blinding) -> Message:
    if level is Blinding.SINGLE:
        return say(
            "Somebody handed out trays who had seen the key or printed it. A face, a word or the "
            "way a cup is put down can tell, without anybody meaning it. Who it was stands below."
        )
    return say(
        "Somebody beside the key holder could know which drink was which while the sitting went "
        "on, and may have let others know without meaning to. How stands below."
    )


def taster_saw_key(evidence: Evidence) -> Caution | None:
    """An organiser who by the plan tastes, and who saw the key or part of it."""
    if not any(kept.tasted for kept in evidence.blinding):
        return None
    return Caution(
        "taster-saw-key",
        Severity.GRAVE,
        say("One of the tasters may have seen the key."),
        say(
            "By the plan the organiser also tasted, and by the record an organiser saw the key, or "
            "opened a tray, before the sitting closed. Which ballot is theirs stands nowhere, so "
            "it may be among those that count."
        ),
    )


def helper_silent(evidence: Evidence) -> Caution | None:
    """Somebody who pours or serves was to taste, and no counted ballot is one of a helper."""
    if not evidence.comparison.duties.helper_tastes:
        return None
    if any(Knew.HELPED in judged.knew for judged in evidence.among(*TASTERS)):
        return None
    return Caution(
        "helper-silent",
        Severity.MIND,
        say("Somebody who poured or served was to taste, and no counted ballot says so."),
        say(
            "If they tasted and did not say that they had helped, they are counted as if they had "
            "known nothing."
        ),
    )


def decided_with_key(evidence: Evidence) -> Caution | None:
    """Ballots decided upon, or keyed in, by somebody who had seen the key."""
    acts = sum(person.judged for person in evidence.sighted)
    if not acts:
        return None
    return Caution(
        "decided-with-key",
        Severity.MIND,
        say_n(
            "Once somebody who had seen the key decided about a ballot, or keyed it in.",
            "%(count)s times somebody who had seen the key decided about a ballot, or keyed it in.",
            acts,
        ),
        say(
            "Questions should be settled, trays set aside and cards keyed in by people who do not "
            "know which cup is which: whoever knows may favour an answer without meaning to. Who "
            "did what, and how often, stands below."
        ),
    )


def opened_in_emergency(evidence: Evidence) -> Caution | None:
    """Trays that were opened because somebody felt ill or feared an allergy."""
    trays = dict(evidence.outcomes.flow.set_aside).get(Reason.REVEALED, 0)
    if not trays:
        return None
    return Caution(
        "opened-in-emergency",
        Severity.NOTE,
        say_n(
            "One tray was opened before closing, in an emergency.",
            "%(count)s trays were opened before closing, in an emergency.",
            trays,
        ),
        say(
            "Safety goes before blinding. No ballot of such a tray counts, and opening it shows no "
            "other tray; but somebody at the evening then knew what stood in some of the cups."
        ),
    )
