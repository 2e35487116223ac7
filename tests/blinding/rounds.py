"""The evening as everybody who is blind meets it: each role's way through its pages.

`walk` leads an event from draft to publication and lets everybody look at everything they can get
at each stage. Whatever people do, they do through the application's own forms.
"""

import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from io import StringIO

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.methods import method_named
from panel.core.names import Blinding, Role, SittingKind
from panel.printing.kit import PIECES
from panel.services import emergency, print_kit, sign_in
from panel.services.print_kit import Printed
from panel.web import cookies
from panel.web.guards import UNGUARDED, audience_of
from tests.blinding.artefacts import Album, Reader, Stage, Statements, Visitor, dump
from tests.blinding.event import Event
from tests.builders import ORGANISER
from tests.web.guest import Page

SHEETS: dict[str, Reader] = {
    "pour-mats": Reader.POURER,
    "pour-sheet": Reader.POURER,
    "cup-labels": Reader.TASTER,  # the pourer sticks them on, everybody sees them on the cups
    "ballot-cards": Reader.TASTER,
    "told-slips": Reader.KEY_HOLDER,  # who folds them and does not serve
    "steward-page": Reader.STEWARD,
    "sign-in": Reader.TASTER,
    "parcel-sheets": Reader.TASTER,
    "repeat-sheet": Reader.TASTER,
    "sealed-key": Reader.KEY_HOLDER,
    "tray-mats": Reader.TASTER,
    "poster": Reader.MEMBER,
}
"""Who ends up with each sheet of the kit. One that is not here fails the walk."""

ALIKE = ("sign-in", "tray-mats", "poster")
"""Sheets that are looked at once: tests/printing/test_swap.py has every sheet of every method."""

PASSWORD = "four words in a row"
NOBODYS = "a" * 16


@dataclass
class Walk:
    """Everybody who is there, each with a browser of their own."""

    event: Event
    album: Album
    statements: Statements
    steward: Visitor
    pourer: Visitor
    member: Visitor
    organiser: Visitor
    phones: dict[int, Visitor]
    whole: bool

    def phone(self, tray: Tray, reader: Reader = Reader.TASTER) -> Visitor:
        """The phone of whoever has this tray."""
        if tray.number not in self.phones:
            self.phones[tray.number] = self.visitor(Reader.TASTER)
        phone = self.phones[tray.number]
        if reader is Reader.VOTER:
            phone.reader = reader
        return phone

    def start_over(self) -> Album:
        """A fresh album at the same stage, fresh phones and fresh chance; passes stay."""
        self.event.chance.begin("once more")
        self.album = Album(self.album.stage)
        for visitor in (self.steward, self.pourer, self.member, self.organiser):
            visitor.album = self.album
        self.phones = {}
        return self.album

    def visitor(self, reader: Reader) -> Visitor:
        """Somebody new."""
        return Visitor(self.event.app, self.album, reader, self.statements)

    @property
    def steward_at(self) -> str:
        """Where the steward's pages are."""
        return f"/steward/{self.event.id}/{self.event.sitting}"


def walk(event: Event, *, whole: bool = True) -> Album:
    """The album of an evening. Only inside `steady()`.

    whole: from draft to publication, with the organiser's screens, and everybody also tries the
    doors that are nobody's or somebody else's: the same whatever the method. Otherwise the kit and
    the sitting, in which everything about cups is seen.
    """
    with logged() as log:
        here = arrive(event, whole)
        for stage, step in steps_of(event, whole):
            here.album.stage = stage
            step()
            if stage is Stage.SEALED:
                kit(here)
            if stage is Stage.SERVING:
                look_as_tasters(here, event.trays()[:9])  # the planned ones and three spares
                serve(here)
            if stage is Stage.ENDED:
                come_late(here)
            if whole or stage is Stage.SERVING:
                look(here)
            if whole and stage is Stage.SERVING:
                try_doors(here)
            here.album.keep(Reader.COPIER, "database", (), dump(event.at))
            here.album.keep(Reader.OPERATOR, "log", (), log.getvalue().encode())
    return here.album


def steps_of(event: Event, whole: bool) -> list[tuple[Stage, Callable[[], None]]]:
    """The stages of an evening, each with what leads to it."""
    sitting: list[tuple[Stage, Callable[[], None]]] = [
        (Stage.SEALED, event.seal),
        (Stage.SERVING, event.open),
    ]
    if not whole:
        return sitting
    return [
        (Stage.DRAFTED, lambda: None),
        *sitting,
        (Stage.ENDED, event.end),
        (Stage.CLOSED, event.close),
        (Stage.PUBLISHED, event.publish),
    ]


@contextmanager
def logged() -> Iterator[StringIO]:
    """What the program writes into the machine's log, at its most talkative."""
    kept = StringIO()
    handler = logging.StreamHandler(kept)
    ours = logging.getLogger("panel")
    level = ours.level
    logging.getLogger().addHandler(handler)
    ours.setLevel(logging.DEBUG)
    try:
        yield kept
    finally:
        logging.getLogger().removeHandler(handler)
        ours.setLevel(level)


def arrive(event: Event, whole: bool) -> Walk:
    """Steward and pourer open their links; nobody has looked at anything yet."""
    album, statements = Album(), Statements(event.at)
    new = {
        reader: Visitor(event.app, album, reader, statements)
        for reader in (Reader.STEWARD, Reader.POURER, Reader.MEMBER, Reader.ORGANISER)
    }
    for reader, role in ((Reader.STEWARD, Role.STEWARD), (Reader.POURER, Role.POURER)):
        visitor = new[reader]
        visitor.send(visitor.get(f"/in/{event.link(role)}"), "/in/")
    if whole:
        sign_in.set_up(event.at, str(sign_in.first_link(event.at)), "Robin", PASSWORD)
    return Walk(
        event=event,
        album=album,
        statements=statements,
        steward=new[Reader.STEWARD],
        pourer=new[Reader.POURER],
        member=new[Reader.MEMBER],
        organiser=new[Reader.ORGANISER],
        phones={},
        whole=whole,
    )


# --- looking -------------------------------------------------------------------------------------


def look(here: Walk) -> None:
    """Everybody looks at every page of theirs; nothing is written."""
    event = here.event
    for path in ("/", f"/r/{event.known.slug}", f"/r/{event.known.slug}/findings.json"):
        here.member.get(path)
    look_as_steward(here)
    here.pourer.get(f"/pourer/{event.id}/{event.sitting}")
    pour(here)
    some = event.trays()
    look_as_tasters(here, [*some[:5], *some[-1:]] if here.whole else some[2:4])
    if here.whole and here.album.stage in (Stage.SERVING, Stage.ENDED):
        look_as_organiser(here)  # afterwards the key is open to them


def look_as_steward(here: Walk) -> None:
    """Board, every wave's trays, what is out, the form for paper."""
    steward, root = here.steward, here.steward_at
    steward.get(root)
    for wave in sorted({tray.wave for tray in here.event.trays()}):
        steward.get(f"{root}/trays?wave={wave}")
    steward.get(f"{root}/trays")
    steward.get(f"{root}/out")
    steward.get(f"{root}/key")
    steward.get(f"{root}/photos")


def pour(here: Walk) -> None:
    """The pourer asks for each wave's mat."""
    event = here.event
    path = f"/pourer/{event.id}/{event.sitting}"
    form = here.pourer.get(path).forms
    token = form[0].values("csrf_token")[0] if form else ""
    for wave in sorted({tray.wave for tray in event.trays()} or {1}):
        here.pourer.post(path, [("csrf_token", token), ("wave", str(wave))])
    if here.album.stage is Stage.SERVING:
        for name in (name for name, reader in SHEETS.items() if reader is Reader.POURER):
            here.pourer.post(f"{path}/{name}.pdf", [("csrf_token", token)])


def look_as_tasters(here: Walk, trays: Sequence[Tray]) -> None:
    """Cards are scanned, and their ballots looked at: all steps are in the page that opens."""
    for tray in trays:
        phone = here.phone(tray)
        phone.get(f"/{here.event.tokens(tray).token}", follow=False)
        phone.get(f"/t/{here.event.ref(tray)}")
    for page in ("/change", "/receipt", "?at=over"):
        for tray in trays[:1]:
            here.phone(tray).get(f"/t/{here.event.ref(tray)}{page}", follow=False)


def look_as_organiser(here: Walk) -> None:
    """Every page of the organiser's that can be opened, but for sheets that show the key."""
    event, organiser = here.event, here.organiser
    sign_organiser_in(here)
    for endpoint, path in addresses(here):
        if endpoint.startswith("organiser") and ".pdf" not in path:
            organiser.get(path)
    for name in SHEETS if here.album.stage is Stage.SERVING else ():
        if not PIECES[name].shows_key:
            organiser.get(f"/organise/{event.id}/print/{event.sitting}/{name}.pdf")
    evening = organiser.get(f"/organise/{event.id}")
    if any("/amend" in form.action for form in evening.forms):
        organiser.send(evening, "/amend", what="", reason="")
    printer = organiser.get(f"/organise/{event.id}/print/printer")
    if any("/print/printer" in form.action for form in printer.forms):
        organiser.send(printer, "/print/printer", what="")


def sign_organiser_in(here: Walk) -> None:
    """Anew at each stage: a sign-in does not last through the hours between."""
    token = sign_in.sign_in(here.event.at, "Robin", PASSWORD)
    here.organiser.client.set_cookie(cookies.SIGN_IN, token)


def addresses(here: Walk, method: str = "GET") -> list[tuple[str, str]]:
    """(endpoint, path) of every route of that method, with ids that exist."""
    event = here.event
    trays = event.trays()
    ids = {
        "comparison": event.id,
        "sitting": event.sitting,
        "slug": event.known.slug,
        "ref": event.ref(trays[0]) if trays else "0" * 16,
        "token": NOBODYS,
        "name": "ballot-cards",
    }
    adapter = event.app.url_map.bind("localhost")
    found = []
    for rule in sorted(event.app.url_map.iter_rules(), key=lambda one: one.endpoint):
        if rule.endpoint in UNGUARDED or method not in (rule.methods or ()):
            continue
        values = {name: ids.get(name, "1") for name in rule.arguments}
        found.append((rule.endpoint, adapter.build(rule.endpoint, values, method=method)))
    return found


# --- the kit -------------------------------------------------------------------------------------


def kit(here: Walk) -> None:
    """Every sheet ends up with somebody; under cover names the pourer's too."""
    event = here.event
    for one in print_kit.contents(event.at, ORGANISER, event.id, event.sitting):
        if here.whole or one.name not in ALIKE:
            hand(here, one.name)
    if not here.whole:
        return
    ruler = print_kit.ruler(event.at, ORGANISER, event.known.sittings[0])
    _handed(here, Reader.MEMBER, "sheet ruler", ruler)
    last = event.trays()[-1].number
    card = print_kit.reprint_card(event.at, ORGANISER, event.id, last)
    _handed(here, Reader.TASTER, "sheet card again", card)
    labels = print_kit.reprint_labels(event.at, ORGANISER, event.id, last)
    _handed(here, Reader.TASTER, "sheet labels again", labels)


def hand(here: Walk, name: str) -> None:
    """One sheet to its reader. What shows the key goes to nobody here, unless it shows cover names
    to the pourer."""
    event, reader = here.event, SHEETS[name]
    shows_key = PIECES[name].shows_key
    covered = event.known.blinding is Blinding.TRIPLE and reader is Reader.POURER
    if not shows_key or covered:
        make = print_kit.key_sheet if shows_key else print_kit.sheet
        printed = make(event.at, ORGANISER, event.id, event.sitting, name)
        _handed(here, reader, f"sheet {name}", printed)


def _handed(here: Walk, reader: Reader, name: str, printed: Printed) -> None:
    here.album.keep(reader, name, (printed.filename,), printed.pdf)


# --- serving -------------------------------------------------------------------------------------


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
        refuse_by_phone(here, fourth)
    last = here.event.trays()[-1].number  # whatever is opened of one tray, no other is
    emergency.open_one_tray(here.event.at, ORGANISER, here.event.id, last, "swollen lips")


def planned(event: Event) -> list[Tray]:
    """The six planned trays by number."""
    return [tray for tray in event.trays() if not tray.spare]


def tap(here: Walk, tray: Tray, what: str, **filled: str) -> Page:
    """The steward does something with a tray on its wave's list, or sends the form without it."""
    steward, path = here.steward, f"{here.steward_at}/tray/{tray.number}{what}"
    page = steward.get(f"{here.steward_at}/trays?wave={tray.wave}")
    if any(form.action == path for form in page.forms):
        return steward.send(page, path, **filled)
    return steward.post(path, [("csrf_token", token_in(page)), *filled.items()])


def token_in(page: Page) -> str:
    """The form token of any form on a page."""
    return next(form.values("csrf_token")[0] for form in page.forms if form.values("csrf_token"))


def chosen(event: Event, tray: Tray, last: bool | None = None) -> tuple[str, list[str]]:
    """The deciding question and the codes that are chosen: the first or the last that can be."""
    plan = event.known.plan
    question = method_named(plan.method).decides(plan)
    at_end = event.facts.answered_otherwise if last is None else last
    places = question.positions[-question.pick :] if at_end else question.positions[: question.pick]
    return question.id, [tray.codes()[place - 1] for place in places]


def vote_by_phone(here: Walk, tray: Tray) -> None:
    """A whole ballot without scripts: refused on the way, read over, sent, changed, sent again."""
    event, phone = here.event, here.phone(tray, Reader.VOTER)
    question, codes = chosen(event, tray)
    otherwise = event.facts.answered_otherwise
    page = phone.get(f"/{event.tokens(tray).token}")
    page = phone.send(page, button="on")  # nothing answered: refused
    page = phone.send(page, button="on", **{"answer-knew": "nothing"})
    page = phone.send(page, button="on")  # nothing chosen: refused
    page = phone.send(page, button="on", **{f"answer-{question}": codes})
    page = phone.send(
        page,
        button="on",
        **{"answer-sure": "sure" if otherwise else "guess",
           "answer-words": "rounder" if otherwise else "sharper"},
    )  # fmt: skip
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
    wrong = [(f"answer-{question}", code) for code in codes]
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
    field = f"answer-{question}"
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
        steward.send(page, path, card=card, **{field: picked})
    for _copy in range(2):
        page = steward.get(path)
        steward.send(page, path, card=card_number(tray.number), **{field: codes})
    here.phone(tray, Reader.VOTER)


def refuse_photos(here: Walk) -> None:
    """No picture, and something that is none; what a picture shows is its card's own."""
    page = here.steward.get(f"{here.steward_at}/photos")
    here.steward.send(page, "/photos")
    here.steward.send(page, "/photos", pictures="no picture")


def vote_twice(here: Walk, tray: Tray) -> None:
    """By phone and on paper, and the two differ, whatever others answer: it is in question."""
    event, phone = here.event, here.phone(tray, Reader.VOTER)
    question, codes = chosen(event, tray, last=False)
    page = phone.get(f"/{event.tokens(tray).token}")
    given = {"answer-knew": "nothing", f"answer-{question}": codes, "answer-sure": "guess"}
    phone.send(page, button="send", **given)
    _, others = chosen(event, tray, last=True)
    page = here.steward.get(f"{here.steward_at}/key")
    here.steward.send(page, "/key", card=card_number(tray.number), **{f"answer-{question}": others})


def come_late(here: Walk) -> None:
    """After the sitting has closed one ballot comes by phone and one on paper."""
    event = here.event
    fourth, sixth = planned(event)[3], planned(event)[5]
    phone = here.phone(fourth, Reader.VOTER)
    phone.get(f"/{event.tokens(fourth).token}")
    question, codes = chosen(event, fourth)
    page = phone.get(f"/t/{event.ref(fourth)}?late=yes")
    given = {"answer-knew": "nothing", f"answer-{question}": codes, "answer-sure": "guess"}
    phone.send(page, button="send", **given)
    question, codes = chosen(event, sixth)
    page = here.steward.get(f"{here.steward_at}/key")
    here.steward.send(page, "/key", card=card_number(sixth.number), **{f"answer-{question}": codes})
    here.phone(sixth, Reader.VOTER)


# --- doors ---------------------------------------------------------------------------------------


def try_doors(here: Walk) -> None:
    """Everybody goes where everybody may, and tries every door that is not theirs."""
    spare = next(tray for tray in here.event.trays() if tray.spare)
    taster = here.phone(spare)
    for visitor in (here.steward, here.pourer, here.member, taster):
        go_everywhere(here, visitor)
    knock(here, here.steward, own="steward")


def go_everywhere(here: Walk, visitor: Visitor) -> None:
    """The pages and doors that are open to all, and every form on them, rightly and wrongly."""
    event = here.event
    spare = [tray for tray in event.trays() if tray.spare][1]
    for path in (
        "/",
        "/reach",
        "/healthz",
        "/readyz",
        "/result.css",
        "/type/title.ttf",
        f"/r/{event.known.slug}",
    ):
        visitor.get(path)
    for name in (
        "index.html",
        "sealed.json",
        "plan.json",
        "findings.json",
        "codes.html",
        "bundle.zip",
    ):
        visitor.get(f"/r/{event.known.slug}/{name}")
    for path in (f"/r/{NOBODYS}", f"/{NOBODYS}", "/nowhere"):
        visitor.get(path)
    page = visitor.get("/sign-in?onward=/organise")
    visitor.send(page, "/sign-in", name="Robin", password="not this one")
    page = visitor.get("/card")
    for code in ("", "AAAA AAAA", "0", event.tokens(spare).shown):
        visitor.send(page, "/card", code=code)
    for door in ("/in/", "/set-up/"):
        page = visitor.get(f"{door}{NOBODYS}")
        visitor.send(page, door)
    fields = [("csrf_token", token_in(page)), ("name", "Robin"), ("password", PASSWORD)]
    visitor.post(f"/in/{NOBODYS}/key", fields)
    visitor.post("/sign-out", [("csrf_token", token_in(page))])


def knock(here: Walk, visitor: Visitor, own: str) -> None:
    """Tries every address that is not theirs, forms without their token. The guard stands before
    every page and asks for no names, so one who knocks is enough."""
    for method in ("GET", "POST"):
        for endpoint, path in addresses(here, method):
            if audience_of(endpoint.rpartition(".")[0]) not in (own, "public", "door"):
                knocked = visitor.get if method == "GET" else partial(visitor.post, fields=[])
                knocked(path, follow=False)
