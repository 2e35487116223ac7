"""Whoever keeps the key knows which cup is which, and still sees no answer before closing.

Two evenings on which every ballot says something else are the same to the key holder, to the byte,
on every page that is theirs, with a passphrase on the key and without.
"""

import pytest

from panel.core.allocation.check_letter import card_number
from panel.core.names import Role
from panel.services import keep_key, sign_in
from panel.store import ballots, key_lock
from panel.web import cookies, keeper
from tests.blinding.artefacts import Album, Reader, Stage, Visitor, differences
from tests.blinding.company import PASSWORD, Walk, arrive, token_in
from tests.blinding.event import Event, Facts, evening, steady
from tests.blinding.leaks_in_pages import in_page
from tests.blinding.planting import asking
from tests.blinding.serving import serve

WORDS = "four baskets by the harbour"
OTHERWISE = Facts(answered_otherwise=True)


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its cost is tests/store/test_key_lock.py's to see."""
    monkeypatch.setattr(key_lock, "COST", 2**10)


def kept(facts: Facts) -> Album:
    """What the key holder sees: the key is locked, ballots come in, the sitting ends."""
    with steady(), evening(facts) as event, asking(event):
        event.seal()
        walk = arrive(event, whole=False)
        holder = Visitor(event.app, walk.album, Reader.KEY_HOLDER, walk.statements)
        keep_key.take_up(event.at, event.link(Role.KEY_HOLDER), "Keeper", PASSWORD)
        go_everywhere(walk, holder, Stage.SEALED)
        event.open()
        walk.album.stage = Stage.SERVING
        serve(walk)
        go_everywhere(walk, holder, Stage.SERVING)
        event.end()
        go_everywhere(walk, holder, Stage.ENDED)
        return walk.album


def go_everywhere(walk: Walk, holder: Visitor, stage: Stage) -> None:
    """Every page of the key holder's and every button, signed in anew; closing is refused, since
    trays are left."""
    event = walk.event
    walk.album.stage = stage
    holder.client.set_cookie(cookies.SIGN_IN, sign_in.sign_in(event.at, "Keeper", PASSWORD))
    root = f"/keep/{event.id}"
    field = ("csrf_token", token_in(holder.get("/keep")))
    sheets = [f"{root}/{event.sitting}/{name}.pdf" for name in ("sealed-key", "pour-mats")]
    card = card_number(event.trays()[-2].number)
    for words in (WORDS, "another thing altogether", WORDS):  # without a lock, then with it
        said = [(f"passphrase-{event.sitting}", words), ("passphrase-tray", words)]
        said += [("passphrase-close", words), ("passphrase-off", words)]
        for path in ("/keep", root, f"{root}/envelope"):
            holder.get(path)
        for path in (*sheets, f"{root}/emergency", f"{root}/close"):
            holder.post(path, [field, *said, ("card", card), ("reason", "hives")])
        holder.post(f"{root}/envelope", [field, ("words", "AAAAA " * 13)])
        holder.post(f"{root}/lock", [field, ("passphrase", words), ("passphrase-again", WORDS)])
    holder.post(f"{root}/unlock", [field, ("passphrase-off", WORDS)])


def of_the_holder(one: Album, other: Album) -> list[str]:
    return differences(one.kept, other.kept, lambda seen: seen.reader is Reader.KEY_HOLDER)


def test_no_answer_reaches_the_key_holder_before_closing() -> None:
    one, other = kept(Facts()), kept(OTHERWISE)
    assert of_the_holder(one, other) == []
    seen = one.of(Reader.KEY_HOLDER)
    statuses = {each.head[0][:3] for each in seen if each.head}
    assert {"200", "302", "403", "409", "422"} <= statuses
    assert not any(status.startswith("5") for status in statuses)
    with steady(), evening(Facts()) as event:
        routes = {
            (rule.endpoint, method)
            for rule in event.app.url_map.iter_rules()
            for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
            if rule.endpoint.startswith("keeper.")
        }
    been = {(endpoint, method) for reader, endpoint, method in one.visited
            if reader is Reader.KEY_HOLDER}  # fmt: skip
    assert routes - been == set()


def test_a_tally_on_the_key_holders_page_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def tally(event: Event, _shown: dict[str, object]) -> str:
        with event.at.units.read() as session:
            found = ballots.of_comparison(session, event.id)
        return repr(sorted(str(ballot.answers) for ballot in found.values()))

    in_page(keeper, tally)(monkeypatch)
    assert of_the_holder(kept(Facts()), kept(OTHERWISE))
