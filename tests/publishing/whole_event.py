"""A published comparison with everything that can happen, made by the real services. Invented."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.methods import method_named
from panel.core.methods.method import said_by_place
from panel.core.names import Helpers, Information, Reason, SittingKind, Smell
from panel.core.nose_first import NOSE
from panel.core.paper.payload import ref_of
from panel.core.possible_answers import possible_answers
from panel.core.questions import OrderCups, PickCups
from panel.services import (
    close_and_unseal,
    open_sitting,
    own_result,
    plan_comparison,
    pour,
    publish,
    seal_comparison,
    settle_ballots,
    take_ballot,
)
from panel.services.workplace import Workplace
from tests.builders import (
    ORGANISER,
    Clock,
    answers,
    asked_on,
    draft,
    plan_for,
    sitting_draft,
    token,
    workplace,
)

DICE = "4 2 6 1"
WORDS = "=HYPERLINK(1) tasted of hay, says Ann"


@contextmanager
def place(folder: Path) -> Iterator[Workplace]:
    """A workplace of its own for a published event."""
    with workplace(f"sqlite:///{folder / 'panel.db'}", folder / "instance", clock=Clock()) as at:
        yield at


def whole_event(
    at: Workplace,
    helpers: Helpers = Helpers.TWO,
    method: str = "triangle",
    *,
    publishes: bool = True,
    expected_order: str = "",
    smell: Smell = Smell.WITH_TASTE,
) -> Comparison:
    """Five sittings of every kind, one added after sealing; dice; an amendment; late, misfilled,
    spilled, told and named tasters; a parcel whose answer was opened early; an organiser who looked
    at the key of the first sitting and then served there."""
    plan = replace(
        plan_for(method),
        further_sittings=True,
        ask_prefer=True,
        excluded_codes=("420",),
        smell=smell,
        expected_order=expected_order,
    )
    whole = replace(draft(method), plan=plan, helpers=helpers)
    known = plan_comparison.start_draft(at, ORGANISER, whole)
    told = "One was fermented warm."
    for made in (
        sitting_draft("Blue", planned=12),
        sitting_draft("Green", planned=6, information=Information.INFORMED, told=told),
        sitting_draft("Split", planned=12, information=Information.SPLIT, told=told),
        sitting_draft("Parcels", planned=6, kind=SittingKind.PARCEL),
        sitting_draft("Repeats", planned=6, kind=SittingKind.REPEAT),
    ):
        plan_comparison.add_sitting(at, ORGANISER, known.id, made)
    sealed = seal_comparison.seal(at, ORGANISER, known.id, dice=DICE)
    seal_comparison.amend(at, ORGANISER, known.id, "A larger room.", "More people came.")
    at.now.forward(hours=1)  # type: ignore[attr-defined]
    added = seal_comparison.add_sitting_after_seal(
        at, ORGANISER, known.id, sitting_draft("Added", planned=6), "a word of the trade"
    )
    for sitting in (*sealed.sittings, added):
        _hold(at, sealed, sitting)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    closed = close_and_unseal.close(at, ORGANISER, known.id)
    if not publishes:
        return closed
    return publish.publish(at, ORGANISER, known.id)


def _hold(at: Workplace, known: Comparison, sitting: Sitting) -> None:
    open_sitting.open_sitting(at, ORGANISER, known.id, sitting.id)
    board = open_sitting.board(at, ORGANISER, known.id, sitting.id)
    trays = [tray for tray in board.trays if not tray.spare]
    if sitting.name == "Blue":
        pour.pouring(at, ORGANISER, known.id, sitting.id)
        open_sitting.set_aside(at, ORGANISER, known.id, trays[0].number, Reason.MISFILLED)
        open_sitting.hand_out(at, ORGANISER, known.id, trays[1].number)
        for tray, name in zip(trays[2:6], ("7", "07", "Ann", "ANN "), strict=True):
            open_sitting.name_taster(at, ORGANISER, known.id, tray.number, name)
    if sitting.name == "Repeats":
        open_sitting.name_taster(at, ORGANISER, known.id, trays[0].number, "Bo")
    for place, tray in enumerate(trays[2:-1] if sitting.name == "Blue" else trays):
        _vote(at, known, tray, place, "variable" if place == 3 else "nothing")
    if sitting.name == "Blue":
        open_sitting.set_aside(at, ORGANISER, known.id, trays[9].number, Reason.TALKED)
    open_sitting.close_sitting(at, ORGANISER, known.id, sitting.id, anyway=True)
    at.now.forward(minutes=5)  # type: ignore[attr-defined]
    if sitting.name == "Blue":
        _vote(at, known, trays[-1], 1, "nothing")
        _vote(at, known, trays[4], 3, "helped")


def _vote(at: Workplace, known: Comparison, tray: Tray, place: int, knew: str) -> None:
    deciding = method_named(known.plan.method).decides(known.plan)
    whole = list(possible_answers(deciding, tray.codes()))
    ways = (
        [tuple(map(int, said_by_place(tray.codes(), way))) for way in whole]
        if isinstance(deciding, PickCups | OrderCups)
        else []
    )
    if ways:
        given = answers(known, tray, *ways[place % len(ways)], knew=knew)
    else:
        given = answers(known, tray, knew=knew) | {deciding.id: whole[place % len(whole)]}
    given |= {"words": (WORDS,), "liked": (tray.codes()[-1],)}
    given = {name: answer for name, answer in given.items() if name in asked_on(known)}
    if NOSE in given:  # nose first: every third taster changes their mind
        by_nose = ways[(place + (place % 3 == 0)) % len(ways)]
        given[NOSE] = tuple(tray.codes()[position - 1] for position in by_nose)
    if place % 2:
        card = card_number(tray.number)
        take_ballot.take_keyed(at, ORGANISER, known.id, card, given, "")
        return
    ref = ref_of(token(at, known, tray))
    take_ballot.take_phone(at, ref, given, f"form-{tray.number}-{place}")
    if place == 2 and tray.sitting == known.sittings[3].id:
        own_result.open_own_answer(at, ref)
