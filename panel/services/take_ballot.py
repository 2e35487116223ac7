"""The one door for ballots: phone, keyed and scanned ones are checked alike and kept for good."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import card_number, parse_card_number
from panel.core.blinded_view import blinded_view
from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.errors import Fault, PanelError
from panel.core.how_to_taste import how_to_take
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import (
    CardStanding,
    Channel,
    Information,
    Reason,
    Role,
    SittingStanding,
    Smell,
    Standing,
)
from panel.core.nose_first import cup_questions, deciding, instruction
from panel.core.paper.payload import ref_of, short_hash, token_hash, typed_short_code
from panel.core.questions import Answer, Question, When
from panel.core.reconcile import Copy
from panel.core.side_questions import machine_read
from panel.services.ballot_door import Receipt, checked, questions_of, receipt, take
from panel.services.own_cards import require_own_card
from panel.services.plan_comparison import existing, sitting_of
from panel.services.sealed_key import lots
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import served_trays
from panel.store import trays as trays_store
from panel.store.served_trays import ServedTray


@dataclass(frozen=True, kw_only=True)
class Serving:
    """A tray with what surrounds it."""

    comparison: Comparison
    sitting: Sitting
    tray: Tray
    questions: tuple[Question, ...]

    @property
    def deciding(self) -> str:
        """Id of the deciding question."""
        return deciding(method_named(self.comparison.plan.method), self.comparison.plan).id

    @property
    def machine_read(self) -> frozenset[str]:
        """Ids of the questions by which two copies of a ballot agree or differ."""
        return machine_read(self.comparison)


@dataclass(frozen=True, kw_only=True)
class TasterView:
    """What a taster may know of their own tray: nothing here differs with the order of the cups.

    `told_room`: how long the told words of a split sitting are, told or not, so that no page need
    be shorter than another; 0 at any other. `doing`: what is to be done with the cups, and how, at
    each moment at which something is asked about them. `slip_alone`: the lots rest with a key that
    does not open, so the folded slip says what this page cannot.
    """

    ref: str
    card: str
    neutral_title: str
    drink: str
    organised_by: str
    sitting_name: str
    method: str
    told: str
    told_room: int
    slip_alone: bool
    questions: tuple[Question, ...]
    codes: tuple[str, ...]
    references: tuple[int, ...]
    standing: Standing
    sitting_standing: SittingStanding
    called_off: bool
    set_aside: bool
    answers: Mapping[str, Answer]
    saved: datetime | None
    slug: str
    zone: str
    language: str
    smell: Smell
    doing: Mapping[When, tuple[Message, Message]]
    allergens: tuple[str, ...]
    minimum_age: int
    receipt: Receipt | None


def open_card(at: Workplace, token: str) -> str:
    """The tray's ref for the token of a card's QR code; PanelError for unknown or old ones."""
    with at.units.read() as session:
        found = trays_store.by_token_hash(session, token_hash(token.upper()))
        if found is None:
            raise PanelError(
                "unknown-token",
                say(
                    "This card is not known here. It may have been printed anew since: ask the "
                    "steward for the new one, or hand in the paper."
                ),
                Fault.MISSING,
            )
    return ref_of(token.upper())


def open_short_code(at: Workplace, typed: str) -> str:
    """The tray's ref for the eight characters typed from a card."""
    code = typed_short_code(typed)
    with at.units.read() as session:
        found = trays_store.by_short_hash(session, short_hash(code))
    if len(found) != 1:
        raise PanelError(
            "unknown-short-code",
            say(
                "No open card has these eight characters. Read them again: they stand on the card "
                "under its square code. Or scan the code instead."
            ),
            Fault.MISSING,
            field="code",
        )
    return found[0].ref


def taster_view(at: Workplace, ref: str, measure: Callable[[str], int] = len) -> TasterView:
    """What the taster of a tray sees. measure: how long words are where they will stand."""
    with at.units.read() as session:
        serving = serving_of(session, ref)
        copies = ballots_store.revisions(session, serving.comparison.id, serving.tray.number)
        told = told_on(session, at, serving)
    in_time = tuple(copy for copy in copies if not copy.late)
    counting = in_time or copies
    by_phone = tuple(copy for copy in counting if copy.channel is Channel.PHONE)
    last = next(reversed(by_phone or counting), None)  # a phone shows what that phone has sent
    known, sitting, tray = serving.comparison, serving.sitting, serving.tray
    method = method_named(known.plan.method)
    return TasterView(
        ref=ref,
        card=card_number(tray.number),
        neutral_title=known.neutral_title,
        drink=known.drink,
        organised_by=known.organised_by,
        sitting_name=sitting.name,
        method=method.id,
        told=told or "",
        told_room=measure(sitting.told)
        if sitting.information is Information.SPLIT and told is not None
        else 0,
        slip_alone=told is None,
        questions=serving.questions,
        codes=tray.codes(),
        references=method.references,
        standing=known.standing,
        sitting_standing=sitting.standing,
        called_off=sitting.not_held,
        set_aside=tray.standing is CardStanding.SET_ASIDE
        and tray.reason not in (Reason.NOT_RETURNED, Reason.NEVER_USED),
        answers=last.answers if last else {},
        saved=last.received if last else None,
        slug=known.slug,
        zone=sitting.zone,
        language=sitting.language,
        smell=known.plan.smell,
        doing={
            one.when: (
                instruction(method, one.when),
                how_to_take(known.plan, known.serving, one.when),
            )
            for one in cup_questions(method, known.plan)
        },
        allergens=known.serving.allergens,
        minimum_age=known.serving.minimum_age,
        receipt=receipt(tray, last, Copy.SAME) if last else None,
    )


def told_on(session: Session, at: Workplace, serving: Serving) -> str | None:
    """What this tray's taster is told, "" for the blinded. In a split sitting the lots say so,
    which rest with the key: None while the key does not open, for nobody knows then. The taster's
    folded slip still says it, and ballots need no key."""
    sitting = serving.sitting
    match sitting.information:
        case Information.BLINDED:
            return ""
        case Information.INFORMED:
            return sitting.told
        case Information.SPLIT:
            try:
                informed = lots(session, at, serving.comparison.id)
            except PanelError as refusal:
                if refusal.fault is Fault.PLACE:
                    return None
                raise
            return sitting.told if serving.tray.number in informed else ""


def check_phone(at: Workplace, ref: str, answers: Mapping[str, Answer]) -> dict[str, Answer]:
    """The answers in their true form before they are read over; writes nothing."""
    with at.units.read() as session:
        served = _by_ref(session, ref)
    return checked(served, answers, Channel.PHONE)


def take_phone(at: Workplace, ref: str, answers: Mapping[str, Answer], key: str) -> Receipt:
    """A ballot from the taster's own phone. `key` was minted into the form: sent twice, it counts
    once and gives the same receipt."""

    def taken(session: Session) -> Receipt:
        served = _by_ref(session, ref)
        actor = Actor.taster(served.comparison, served.sitting.id, ref)
        return take(session, at, actor, served, Channel.PHONE, answers, key)

    return at.units.together(taken)


def keyed_card(at: Workplace, actor: Actor, comparison_id: str, card: str) -> Serving:
    """The tray of a paper card, by its number with check letter, for whoever keys it in."""
    number = parse_card_number(card)
    with at.units.read() as session:
        return _as_seen(actor, serving_by_number(session, actor, comparison_id, number))


def take_keyed(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    card: str,
    answers: Mapping[str, Answer],
    key: str,
    channel: Channel = Channel.KEYED,
) -> Receipt:
    """A ballot keyed in from paper: a code that is not on that tray is refused."""
    number = parse_card_number(card)
    with at.units.begin() as session:
        serving = serving_by_number(session, actor, comparison_id, number)
        return take(session, at, actor, served_tray(serving), channel, answers, key)


def serving_of(session: Session, ref: str) -> Serving:
    """The tray of a ref with what surrounds it; PanelError (fault MISSING) if there is none."""
    served = _by_ref(session, ref)
    return serving_of_tray(existing(session, served.comparison), served.tray)


def _by_ref(session: Session, ref: str) -> ServedTray:
    found = served_trays.by_ref(session, ref)
    if found is None:
        raise PanelError(
            "unknown-tray", say("This card is not known here. Scan its code again."), Fault.MISSING
        )
    return found


def served_tray(serving: Serving) -> ServedTray:
    """The same as the door takes it."""
    known = serving.comparison
    return ServedTray(
        comparison=known.id,
        standing=known.standing,
        plan=known.plan,
        sitting=serving.sitting,
        tray=serving.tray,
    )


def serving_by_number(session: Session, actor: Actor, comparison_id: str, number: int) -> Serving:
    """The tray of a card's number with what surrounds it, for whoever may take its card;
    PanelError (fault MISSING) if there is none."""
    known = existing(session, comparison_id)
    tray = trays_store.load(session, comparison_id, number)
    if tray is None:
        raise PanelError(
            "no-such-card",
            say(
                "No card of this comparison has number %(card)s. Is it another evening's card?",
                card=card_number(number),
            ),
            Fault.MISSING,
            field="card",
        )
    require_own_card(actor, known, tray)
    return serving_of_tray(known, tray)


def _as_seen(actor: Actor, serving: Serving) -> Serving:
    """The same without what only the organiser may know."""
    if actor.role is Role.ORGANISER:
        return serving
    known = blinded_view(serving.comparison)
    return replace(serving, comparison=known, sitting=sitting_of(known, serving.sitting.id))


def serving_of_tray(known: Comparison, tray: Tray) -> Serving:
    """A tray of a comparison with what surrounds it."""
    return Serving(
        comparison=known,
        sitting=sitting_of(known, tray.sitting),
        tray=tray,
        questions=questions_of(known.plan),
    )
