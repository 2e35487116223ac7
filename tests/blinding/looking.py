"""What everybody looks at: pages of their own, and the sheets of the kit. Nothing is written."""

from collections.abc import Sequence

from panel.core.comparison import Tray
from panel.core.names import Blinding
from panel.printing.kit import PIECES
from panel.services import print_kit
from panel.services.print_kit import Printed
from panel.web.guards import UNGUARDED
from tests.blinding.artefacts import Reader, Stage
from tests.blinding.company import NOBODYS, SHEETS, Walk, sign_organiser_in
from tests.builders import ORGANISER

ALIKE = ("sign-in", "tray-mats", "poster")
"""Sheets that are looked at once: tests/printing/test_swap.py has every sheet of every method."""

VARIABLE = "drink=beer&variable=kind+of+fermenter"
"""What is asked of the event: whoever guesses it right learns nothing from the archive."""


def look(here: Walk) -> None:
    """Everybody looks at every page of theirs; nothing is written."""
    event = here.event
    for path in ("/", f"/r/{event.known.slug}", f"/r/{event.known.slug}/findings.json"):
        here.member.get(path)
    for path in ("/archive", "/archive?words=ale", f"/archive/side-by-side?{VARIABLE}"):
        here.member.get(path)
    look_as_steward(here)
    here.pourer.get(f"/pourer/{event.id}/{event.sitting}")
    pour(here)
    some = event.trays()
    look_as_tasters(here, [*some[:5], *some[-1:]] if here.whole else some[2:4])
    if here.whole and here.album.stage in (Stage.SERVING, Stage.ENDED):
        look_as_organiser(here)  # afterwards the key is open to them


def look_as_steward(here: Walk) -> None:
    """Board, every wave's trays, what is out, the form for paper, what was read from pictures."""
    steward, root = here.steward, here.steward_at
    steward.get(root)
    for wave in sorted({tray.wave for tray in here.event.trays()}):
        steward.get(f"{root}/trays?wave={wave}")
    steward.get(f"{root}/trays")
    steward.get(f"{root}/out")
    steward.get(f"{root}/key")
    steward.get(f"{root}/photos")
    steward.get(f"{root}/review")
    steward.get(f"{root}/sheet")
    steward.get(f"{root}/sheet/empty.csv")


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
    organiser.get(f"/organise/{event.id}/report.pdf")
    for name in SHEETS if here.album.stage is Stage.SERVING else ():
        if not PIECES[name].shows_key:
            organiser.get(f"/organise/{event.id}/print/{event.sitting}/{name}.pdf")
    evening = organiser.get(f"/organise/{event.id}")
    if any("/amend" in form.action for form in evening.forms):
        organiser.send(evening, "/amend", what="", reason="")
    printer = organiser.get(f"/organise/{event.id}/print/printer")
    if any("/print/printer" in form.action for form in printer.forms):
        organiser.send(printer, "/print/printer", what="")


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
