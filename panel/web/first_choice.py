"""Nose first on a phone: the choice by smell stands once the next page has been seen.

The form carries it from then on with the field "stands". Without a script the draft's cookie, which
is signed, has the last word; with one the script keeps it. Once a ballot is in, the door keeps it
(services.ballot_door). It binds people who answer in good faith: whoever opens the card in a second
browser can begin anew, and deceives nobody but themselves.
"""

from collections.abc import Mapping

from panel.core.names import Smell
from panel.core.nose_first import NOSE
from panel.services.take_ballot import TasterView
from panel.web.answers import PREFIX
from panel.web.forms import Typed

STANDS = "stands"
FIELD = PREFIX + NOSE
STEP = "nose"


def first_choice(view: TasterView, kept: Typed) -> tuple[str, ...]:
    """The choice by smell that stands: of the ballot that is in, else of the draft since its page
    was left; () while it may still be changed, and where none is asked."""
    if view.smell is not Smell.FIRST:
        return ()
    saved = view.answers.get(NOSE, ())
    if saved:
        return saved
    return tuple(kept.values(FIELD)) if kept.value(STANDS) == "yes" else ()


def shown_first(kept: Typed, first: tuple[str, ...]) -> Typed:
    """The form with the choice that stands in it, whatever was sent instead."""
    if not first:
        return kept
    return Typed({**kept.words, FIELD: list(first)}, kept.refusals, kept.notice)


def with_first(
    words: Mapping[str, list[str]], draft: Typed, leaves: str = "", to: str = ""
) -> dict[str, list[str]]:
    """A form's words with the first choice of the draft, if it stands there; from the moment on at
    which somebody `leaves` the page of smell for one that comes after it."""
    kept = {name: list(given) for name, given in words.items()}
    if draft.value(STANDS) == "yes":
        return {**kept, FIELD: draft.values(FIELD), STANDS: ["yes"]}
    if leaves == STEP and to not in ("before", STEP) and kept.get(FIELD):
        kept[STANDS] = ["yes"]
    return kept
