"""The steward's phone: trays out and back by one tap, and paper ballots keyed in. Codes only.

Open by the link that the organiser gave, without an account, for one sitting; organisers get in
by their sign-in. Nothing here says which cup holds what, nor what anybody answered.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug import Response

from panel.core.allocation.check_letter import card_number, parse_card_number
from panel.core.comparison import Sitting, Tray
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import CardStanding, Reason, SittingStanding
from panel.core.reconcile import Copy
from panel.core.script import slip_handed_out
from panel.core.side_questions import ballot_questions
from panel.services import open_sitting, take_ballot
from panel.services.open_sitting import Board
from panel.web.answers import keyed_answers
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.place import at

pages = Blueprint("steward", __name__, url_prefix="/steward/<id:comparison>/<id:sitting>")

IN_WORDS: dict[CardStanding, Message] = {
    CardStanding.PRINTED: say("ready"),
    CardStanding.HANDED_OUT: say("out"),
    CardStanding.RETURNED: say("ballot is in"),
    CardStanding.IN_QUESTION: say("in question"),
    CardStanding.COUNTED: say("counted"),
    CardStanding.SET_ASIDE: say("set aside"),
}
REASONS: dict[Reason, Message] = {
    Reason.MISFILLED: say("misfilled"),
    Reason.SPILLED: say("spilled"),
    Reason.SAW: say("saw a label, a bottle or the pour mat"),
    Reason.TALKED: say("talked about the cups"),
    Reason.ILL: say("feels unwell"),
    Reason.NOT_RETURNED: say("not coming back"),
    Reason.UNREADABLE: say("card cannot be read"),
    Reason.OTHER: say("another reason"),
    Reason.NEVER_USED: say("not used"),
    Reason.REVEALED: say("opened in an emergency"),
}
BY_HAND = tuple(reason for reason in REASONS if reason not in open_sitting.NOT_BY_HAND)
"""The reasons that are chosen tray by tray; the others are given to the rest before closing."""

SAVED: dict[Copy, Message] = {
    Copy.FIRST: say("Card %(card)s is in."),
    Copy.SAME: say("Card %(card)s was in already and says the same."),
    Copy.AGREES: say("Card %(card)s came by phone already and says the same."),
    Copy.REVISION: say("Card %(card)s is corrected; the last one counts."),
    Copy.QUESTION: say(
        "Card %(card)s differs from the ballot that came by another way. It is in question: the "
        "organiser settles it, without the key."
    ),
}


ELSEWHERE = say("It belongs to another sitting of this comparison, and is kept there.")


@dataclass(frozen=True)
class Wave:
    """The trays that are poured together, in the order in which they stand."""

    number: int
    trays: tuple[Tray, ...]

    @property
    def spare(self) -> bool:
        """Whether these trays are for walk-ins and accidents."""
        return all(tray.spare for tray in self.trays)

    @property
    def touched(self) -> bool:
        """Whether any of them went out, or was set aside by somebody."""
        return any(
            tray.standing is not CardStanding.PRINTED and tray.reason is not Reason.NEVER_USED
            for tray in self.trays
        )

    @property
    def waiting(self) -> int:
        """Trays that have not been handed out."""
        return sum(tray.standing is CardStanding.PRINTED for tray in self.trays)


def waves_of(trays: Sequence[Tray]) -> tuple[Wave, ...]:
    """Trays by wave, planned ones first."""
    numbers = sorted({tray.wave for tray in trays})
    by_wave = (
        Wave(number, tuple(sorted(_of(trays, number), key=lambda tray: tray.place)))
        for number in numbers
    )
    return tuple(sorted(by_wave, key=lambda wave: (wave.spare, wave.number)))


def _of(trays: Sequence[Tray], wave: int) -> list[Tray]:
    return [tray for tray in trays if tray.wave == wave]


def in_words(tray: Tray, sitting: Sitting) -> tuple[Message, ...]:
    """Where a tray stands, in words, and why: what nobody needed was not set aside by anybody."""
    if tray.standing is CardStanding.PRINTED and sitting.standing is SittingStanding.CLOSED:
        return (REASONS[Reason.NEVER_USED],)
    if tray.standing is not CardStanding.SET_ASIDE or tray.reason is None:
        return (IN_WORDS[tray.standing],)
    if tray.reason in open_sitting.FOR_THE_REST:
        return (REASONS[tray.reason],)
    return IN_WORDS[tray.standing], REASONS[tray.reason]


def by_somebody(tray: Tray) -> bool:
    """Whether somebody has set this tray aside for a reason of theirs, and may take it back."""
    return tray.standing is CardStanding.SET_ASIDE and tray.reason not in open_sitting.NOT_BY_HAND


def numbered(trays: Sequence[Tray]) -> tuple[Message, ...]:
    """Between which numbers this sitting's cards lie, where they do not begin at 1."""
    first = min((tray.number for tray in trays), default=1)
    if first == 1:
        return ()
    planned = [tray.number for tray in trays if not tray.spare]
    spare = [tray.number for tray in trays if tray.spare]
    said = say(
        "This sitting’s cards are numbered from %(first)s to %(last)s: lower numbers belong to "
        "another sitting of the same comparison.",
        first=card_number(min(planned, default=first)),
        last=card_number(max(planned, default=first)),
    )
    if not spare:
        return (said,)
    spares = say(
        "Spares go from %(first)s to %(last)s.",
        first=card_number(min(spare)),
        last=card_number(max(spare)),
    )
    return said, spares


# --- looking -------------------------------------------------------------------------------------


@pages.get("")
def board(comparison: str, sitting: str) -> ResponseReturnValue:
    """Where the sitting stands, in a sentence; what to say to the tasters."""
    seen = open_sitting.board(at(), actor(), comparison, sitting)
    return render_template(
        "steward/board.html",
        board=seen,
        waves=waves_of(seen.trays),
        numbered=numbered(seen.trays),
        minded=slip_handed_out(seen.sitting),
    )


@pages.get("/trays")
def trays(comparison: str, sitting: str) -> ResponseReturnValue:
    """One wave's trays, each with its taps: the first that has any left to hand out."""
    seen = open_sitting.board(at(), actor(), comparison, sitting)
    waves = waves_of(seen.trays)
    return render_template(
        "steward/trays.html",
        board=seen,
        waves=waves,
        wave=_wanted(waves, request.args.get("wave", "")),
        in_words=in_words,
        by_somebody=by_somebody,
        reasons=REASONS,
        by_hand=BY_HAND,
    )


@pages.get("/out")
def out(comparison: str, sitting: str) -> ResponseReturnValue:
    """The trays that are out and whose ballot is not in yet."""
    seen = open_sitting.board(at(), actor(), comparison, sitting)
    still = [tray for tray in seen.trays if tray.standing is CardStanding.HANDED_OUT]
    return render_template(
        "steward/out.html",
        board=seen,
        trays=sorted(still, key=lambda tray: tray.number),
        reasons=REASONS,
        by_hand=BY_HAND,
    )


def _wanted(waves: tuple[Wave, ...], wanted: str) -> Wave | None:
    for wave in waves:
        if str(wave.number) == wanted:
            return wave
    return next((wave for wave in waves if wave.waiting), waves[0] if waves else None)


# --- one tap -------------------------------------------------------------------------------------


@pages.post("/tray/<int:number>/out")
def hand_out(comparison: str, sitting: str, number: int) -> ResponseReturnValue:
    """The tray goes to a taster."""
    tray = open_sitting.hand_out(at(), actor(), comparison, number)
    return _back_to(comparison, sitting, tray)


@pages.post("/tray/<int:number>/back")
def take_back(comparison: str, sitting: str, number: int) -> ResponseReturnValue:
    """The tray can be handed out again."""
    tray = open_sitting.take_back(at(), actor(), comparison, number)
    return _back_to(comparison, sitting, tray)


@pages.post("/tray/<int:number>/aside")
def set_aside(comparison: str, sitting: str, number: int) -> ResponseReturnValue:
    """The tray will not count, for a reason from the list."""
    words = request.form.get("reason", "")
    reason = Reason(words) if words in {str(one) for one in BY_HAND} else Reason.OTHER
    tray = open_sitting.set_aside(
        at(), actor(), comparison, number, reason, request.form.get("note", "")
    )
    return _back_to(comparison, sitting, tray)


@pages.post("/tray/<int:number>/name")
def name(comparison: str, sitting: str, number: int) -> ResponseReturnValue:
    """A hand-out number or nickname, if the taster wishes."""
    tray = open_sitting.name_taster(
        at(), actor(), comparison, number, request.form.get("taster", "")
    )
    return _back_to(comparison, sitting, tray)


def _back_to(comparison: str, sitting: str, tray: Tray) -> Response:
    if request.form.get("from") == "out":
        return redirect(url_for(".out", comparison=comparison, sitting=sitting))
    place = url_for(
        ".trays",
        comparison=comparison,
        sitting=sitting,
        wave=tray.wave,
        _anchor=f"tray-{tray.number}",
    )
    return redirect(place)


# --- paper ballots -------------------------------------------------------------------------------


def show_key_in(typed: Typed, comparison: str, sitting: str) -> str:
    """The form for a paper ballot: card number, chosen code, side answers."""
    seen = open_sitting.board(at(), actor(), comparison, sitting)
    plan = seen.comparison.plan
    return render_template(
        "steward/key_in.html",
        board=seen,
        typed=typed,
        questions=ballot_questions(method_named(plan.method), plan),
        key=at().entropy(16).hex(),
        saved=_saved(seen),
    )


@pages.get("/key")
def key_in_page(comparison: str, sitting: str) -> ResponseReturnValue:
    """An empty form, or one for the card that was tapped in the list."""
    card = request.args.get("card", "")
    return show_key_in(Typed({"card": [card]}) if card else FRESH, comparison, sitting)


@pages.post("/key")
@refill(show_key_in)
def key_in(comparison: str, sitting: str) -> ResponseReturnValue:
    """Takes a paper ballot. A code that is not on that tray is refused."""
    seen = open_sitting.board(at(), actor(), comparison, sitting)
    plan = seen.comparison.plan
    questions = ballot_questions(method_named(plan.method), plan)
    card = request.form.get("card", "")
    receipt = take_ballot.take_keyed(
        at(),
        actor(),
        comparison,
        card,
        keyed_answers(request.form, questions),
        request.form.get("key", ""),
    )
    return redirect(
        url_for(
            ".key_in_page",
            comparison=comparison,
            sitting=sitting,
            done=parse_card_number(card),
            copy=receipt.copy.value,
            late="yes" if receipt.late else None,
        )
    )


def _saved(seen: Board) -> tuple[Message, ...]:
    """What became of the card before this one, and whose it is if not this sitting's."""
    done, copy = request.args.get("done", ""), request.args.get("copy", "")
    if not (done.isascii() and done.isdigit() and 1 <= int(done) <= 9999):
        return ()
    card = card_number(int(done))
    saved = next((words for kind, words in SAVED.items() if kind.value == copy), None)
    late = request.args.get("late") == "yes"
    said: tuple[Message, ...] = (say(saved.id, card=card),) if saved else ()
    if said and int(done) not in {tray.number for tray in seen.trays}:
        said += (ELSEWHERE,)
    return (*said, say("It came after closing: listed, not counted.")) if late else said
