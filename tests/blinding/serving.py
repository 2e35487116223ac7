"""What people do at a sitting: trays go out, ballots come in, and everything that can go wrong.

Done through the application's own forms, rightly and wrongly.
"""

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.methods import method_named
from panel.core.names import SittingKind
from panel.core.possible_answers import possible_answers
from panel.core.side_questions import SURE, ballot_questions
from panel.services import emergency
from tests.blinding.artefacts import Reader
from tests.blinding.company import Walk, planned, token_in
from tests.blinding.event import Event
from tests.builders import ORGANISER
from tests.readings import waiting_reading
from tests.web.guest import Page


def serve(here: Walk) -> None:
    """The sitting: trays go out, ballots come in by phone and on paper, and things go wrong."""
    first, second, third, fourth, fifth, sixth = planned(here.event)
    for tray in (first, second, third, fourth, fifth):
        tap(here, tray, "/out")
    vote_by_phone(here, first)
    key_in(here, second)
    vote_twice(here, third)
    tap(here, fifth, "/aside")
    if here.whole:
        tap(here, sixth, "/name", taster="7")
        tap(here, sixth, "/out")
        tap(here, sixth, "/back")
        tap(here, first, "/out")  # its ballot is in: refused
        refuse_photos(here)
        refuse_sheet(here, sixth)
        look_at_a_reading(here, sixth)
        refuse_by_phone(here, fourth)
    last = here.event.trays()[-1].number  # whatever is opened of one tray, no other is
    emergency.open_one_tray(here.event.at, ORGANISER, here.event.id, last, "swollen lips")


def tap(here: Walk, tray: Tray, what: str, **filled: str) -> Page:
    """The steward does something with a tray on its wave's list, or sends the form without it."""
    steward, path = here.steward, f"{here.steward_at}/tray/{tray.number}{what}"
    page = steward.get(f"{here.steward_at}/trays?wave={tray.wave}")
    if any(form.action == path for form in page.forms):
        return steward.send(page, path, **filled)
    return steward.post(path, [("csrf_token", token_in(page)), *filled.items()])


def chosen(event: Event, tray: Tray, last: bool | None = None) -> tuple[str, list[str]]:
    """The deciding question and its answer: the first or the last that there can be."""
    plan = event.known.plan
    question = method_named(plan.method).decides(plan)
    at_end = event.facts.answered_otherwise if last is None else last
    every = list(possible_answers(question, tray.codes()))
    return question.id, list(every[-1 if at_end else 0])


def typed(question: str, answer: list[str]) -> dict[str, list[str] | str]:
    """The fields of a form that say so: one, or one for each cup."""
    if any(":" in word for word in answer):
        cups = (word.split(":") for word in answer)
        return {f"answer-{question}:{code}": word for code, word in cups}
    return {f"answer-{question}": answer}


def sure(event: Event, word: str) -> dict[str, str]:
    """How sure a taster is, where it is asked."""
    plan = event.known.plan
    asked = ballot_questions(method_named(plan.method), plan)
    return {"answer-sure": word} if SURE in asked else {}


def vote_by_phone(here: Walk, tray: Tray) -> None:
    """A whole ballot without scripts: refused on the way, read over, sent, changed, sent again."""
    event, phone = here.event, here.phone(tray, Reader.VOTER)
    question, codes = chosen(event, tray)
    otherwise = event.facts.answered_otherwise
    page = phone.get(f"/{event.tokens(tray).token}")
    page = phone.send(page, button="on")  # nothing answered: refused
    page = phone.send(page, button="on", **{"answer-knew": "nothing"})
    page = phone.send(page, button="on")  # nothing chosen: refused
    page = phone.send(page, button="on", **typed(question, codes))
    page = phone.send(
        page,
        button="on",
        **sure(event, "sure" if otherwise else "guess"),
        **{"answer-words": "rounder" if otherwise else "sharper"},
    )
    page = phone.send(page, button="cups")
    page = phone.get(f"/t/{event.ref(tray)}?at=over")
    phone.send(page, button="send")
    page = phone.get(f"/t/{event.ref(tray)}/change")
    phone.send(page, button="send", **{"answer-words": "as before"})
    if event.facts.kind is SittingKind.TABLE:  # elsewhere one's own tray opens early, by plan
        phone.post(f"/t/{event.ref(tray)}/open", [("csrf_token", token_in(page))])


def refuse_by_phone(here: Walk, tray: Tray) -> None:
    """What nobody can send: a cup of another tray, a beer, a form without its key."""
    event, phone = here.event, here.phone(tray)
    question, codes = chosen(event, planned(event)[0], last=False)
    path = f"/t/{event.ref(tray)}"
    page = phone.get(path)
    token, key = token_in(page), page.form().values("key")[0]
    whole = [("csrf_token", token), ("key", key), ("answer-knew", "nothing")]
    wrong = [
        (name, word)
        for name, words in typed(question, codes).items()
        for word in ([words] if isinstance(words, str) else words)
    ]
    phone.post(f"{path}/send", [*whole, *wrong])
    phone.post(f"{path}/send", [*whole, ("answer-beer", "A")])
    phone.post(f"{path}/send", whole)
    phone.post(f"{path}/send", [("csrf_token", token), *wrong])
    phone.post(f"{path}/send", wrong)  # without the form's token
    phone.post(f"{path}/leave", [("csrf_token", token)])


def key_in(here: Walk, tray: Tray) -> None:
    """Paper ballots: every refusal there is, then one that is taken, and the same once more."""
    event, steward, path = here.event, here.steward, f"{here.steward_at}/key"
    question, codes = chosen(event, tray)
    _, others = chosen(event, planned(event)[0], last=False)
    page = steward.get(f"{path}?card={card_number(tray.number)}")
    wrong_letter = f"{tray.number} {'A' if card_number(tray.number)[-1] != 'A' else 'B'}"
    refused = (
        (card_number(tray.number), others),  # another tray's
        ("", []),
        (wrong_letter, others),
        (card_number(9999), others),
        (card_number(tray.number), []),
        (card_number(tray.number), ["999"] * len(others)),
    )
    for card, picked in refused if here.whole else refused[:1]:
        steward.send(page, path, card=card, **typed(question, picked))
    for _copy in range(2):
        page = steward.get(path)
        steward.send(page, path, card=card_number(tray.number), **typed(question, codes))
    here.phone(tray, Reader.VOTER)


def refuse_sheet(here: Walk, tray: Tray) -> None:
    """A sheet of which one row is right and one is not: nothing of it is taken, and it comes back;
    then nothing at all."""
    question, codes = chosen(here.event, tray, last=False)
    right = f"{card_number(tray.number)},{' '.join(codes)}"
    page = here.steward.get(f"{here.steward_at}/sheet")
    rows = f"card,{question}\n{right}\n{card_number(9999)},999"
    here.steward.send(page, "/sheet", rows=rows)
    here.steward.send(page, "/sheet", rows="")


def refuse_photos(here: Walk) -> None:
    """No picture, and something that is none; what a picture shows is its card's own."""
    page = here.steward.get(f"{here.steward_at}/photos")
    here.steward.send(page, "/photos")
    here.steward.send(page, "/photos", pictures="no picture")


def look_at_a_reading(here: Walk, tray: Tray) -> None:
    """A card that could not be read for certain is looked at, decided wrongly, and left open."""
    number = waiting_reading(here.event.at, here.event.known, tray)
    path = f"{here.steward_at}/review/{number}"
    page = here.steward.get(path)
    here.steward.send(page, path, button="otherwise")
    here.steward.send(page, path, button="left-open")


def vote_twice(here: Walk, tray: Tray) -> None:
    """By phone and on paper, and the two differ, whatever others answer: it is in question."""
    event, phone = here.event, here.phone(tray, Reader.VOTER)
    question, codes = chosen(event, tray, last=False)
    page = phone.get(f"/{event.tokens(tray).token}")
    given = {"answer-knew": "nothing", **typed(question, codes), **sure(event, "guess")}
    phone.send(page, button="send", **given)
    _, others = chosen(event, tray, last=True)
    page = here.steward.get(f"{here.steward_at}/key")
    here.steward.send(page, "/key", card=card_number(tray.number), **typed(question, others))


def come_late(here: Walk) -> None:
    """After the sitting has closed one ballot comes by phone and one on paper."""
    event = here.event
    fourth, sixth = planned(event)[3], planned(event)[5]
    phone = here.phone(fourth, Reader.VOTER)
    phone.get(f"/{event.tokens(fourth).token}")
    question, codes = chosen(event, fourth)
    page = phone.get(f"/t/{event.ref(fourth)}?late=yes")
    given = {"answer-knew": "nothing", **typed(question, codes), **sure(event, "guess")}
    phone.send(page, button="send", **given)
    question, codes = chosen(event, sixth)
    page = here.steward.get(f"{here.steward_at}/key")
    here.steward.send(page, "/key", card=card_number(sixth.number), **typed(question, codes))
    here.phone(sixth, Reader.VOTER)
