"""Whoever is blind gets the same bytes of two evenings that differ in what they must not know.

The same comparison is made twice through the real services and the real application, and all that
anybody can get of it is compared: pages with their headers, cookies and sizes, refusals, sheets
with all that is in the file, file names, log and database. What cannot differ cannot tell: CONSORT
2025 (20a, 20b) and ICH E6(R3) (4.1) ask for no less, in other words.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import pytest
from flask import Flask

from panel.core.methods import METHODS
from panel.core.names import Blinding, Helpers, Role, SittingKind, Standing
from panel.core.visibility import AUDIENCES, TABLE, Sight
from panel.web.guards import UNGUARDED, audience_of
from tests.blinding.artefacts import (
    ROLES,
    Album,
    Artefact,
    Changed,
    Reader,
    Stage,
    differences,
    is_blind,
    tells_a_length,
)
from tests.blinding.event import MASK, SECRETS, Facts, evening, steady
from tests.blinding.reading import everything_in
from tests.blinding.rounds import walk

Albums = Callable[..., Album]
Levels = Callable[[Facts], Blinding]

USUAL = Facts()
TWINS = {
    Changed.NAMES: replace(USUAL, exchanged=True),
    Changed.ORDERS: replace(USUAL, dealt_anew=True),
    Changed.ANSWERS: replace(USUAL, answered_otherwise=True),
}
TRIPLE = Facts(method="tetrad-specified", helpers=Helpers.THREE)
INFORMED = replace(USUAL, informed=True)


def told_apart(
    album: Albums, level: Levels, facts: Facts, twin: Facts, changed: Changed, whole: bool = False
) -> list[str]:
    """Where the blind could tell the two evenings apart."""
    given = level(facts)
    one, other = album(facts, whole), album(twin, whole)
    return differences(one.kept, other.kept, lambda each: is_blind(each, given, changed))


# --- the same to the byte ------------------------------------------------------------------------


@pytest.mark.parametrize("changed", TWINS)
def test_a_whole_evening_is_the_same_to_whoever_is_blind(
    album: Albums, level: Levels, changed: Changed
) -> None:
    """From draft to publication: names exchanged, orders dealt anew, other answers."""
    assert told_apart(album, level, USUAL, TWINS[changed], changed, whole=True) == []


@pytest.mark.parametrize("changed", [Changed.NAMES, Changed.ORDERS])
def test_under_triple_blinding_the_pourer_is_blind_to_names_too(
    album: Albums, level: Levels, changed: Changed
) -> None:
    facts = TRIPLE
    twin = replace(facts, exchanged=changed is Changed.NAMES, dealt_anew=changed is Changed.ORDERS)
    assert level(facts) is Blinding.TRIPLE
    assert told_apart(album, level, facts, twin, changed) == []
    pourers = album(facts, False).of(Reader.POURER)
    compared = kinds([one for one in pourers if is_blind(one, Blinding.TRIPLE, changed)])
    shown = {"sheet pour-mats", "sheet pour-sheet", "POST pourer.mat", "POST pourer.sheet"}
    assert compared & shown == (shown if changed is Changed.NAMES else set())


EVENINGS = (
    Facts(method="duo-trio"),
    Facts(method="duo-trio", reference="A", kind=SittingKind.PARCEL),
    Facts(method="paired", kind=SittingKind.REPEAT),
    Facts(method="paired-preference"),
    Facts(method="3-afc"),
    Facts(method="tetrad", helpers=Helpers.ALONE),
    Facts(method="two-out-of-five"),
    Facts(method="ranking"),
    Facts(method="a-not-a"),
    Facts(method="a-not-a-both"),
    Facts(method="same-different"),
)
"""Every method that has no test of its own here, every kind of sitting, every level: each at least
once. The constant reference is the same drink for all; which one it is, nobody reads."""


@pytest.mark.parametrize("facts", EVENINGS, ids=lambda facts: f"{facts.method} {facts.kind}")
def test_every_method_kind_and_level_is_blind(album: Albums, level: Levels, facts: Facts) -> None:
    twin = replace(facts, exchanged=True, dealt_anew=True)
    assert told_apart(album, level, facts, twin, Changed.BOTH) == []


def test_nothing_is_left_out_of_the_evenings() -> None:
    made = (USUAL, TRIPLE, *EVENINGS)
    assert {facts.method for facts in made} == set(METHODS)
    assert {facts.kind for facts in made} == set(SittingKind)
    assert {facts.helpers for facts in made} == set(Helpers)


def test_nobody_sees_on_paper_or_screen_that_a_sitting_is_informed(
    album: Albums, level: Levels
) -> None:
    """Cards, labels and public page are those of a blinded sitting."""
    assert told_apart(album, level, USUAL, INFORMED, Changed.TOLD) == []


def test_at_a_split_sitting_nobody_sees_who_is_told(album: Albums, level: Levels) -> None:
    """But whoever is told, on their phone, and whoever folds the slips. To whoever watches the
    network their pages weigh the same."""
    facts = Facts(split=True)
    twin = replace(facts, lots_anew=True)
    assert told_apart(album, level, facts, twin, Changed.LOTS) == []
    phones = differences(
        album(facts, False).kept, album(twin, False).kept, lambda one: one.reader is Reader.TASTER
    )
    assert any("taster.ballot" in line for line in phones)
    assert [line for line in phones if tells_a_length(line)] == []


# --- no word of it -------------------------------------------------------------------------------


def test_no_word_of_a_beer_or_of_the_variable_reaches_the_blind(album: Albums) -> None:
    """Also what both evenings say alike. In pages with comments and attributes, in headers, in
    what cookies hold, in sheets with white and hidden text, in the streams of their files."""
    for facts, given in ((USUAL, Blinding.DOUBLE), (TRIPLE, Blinding.TRIPLE)):
        whole = facts is USUAL
        for one in album(facts, whole).kept.values():
            if is_blind(one, given, Changed.NAMES):
                said = everything_in(one).lower()
                assert [word for word in SECRETS if word in said] == [], one.title


def test_the_informed_and_who_reads_it_to_them_alone_are_told_what_was_changed(
    album: Albums,
) -> None:
    told = [
        one
        for one in album(INFORMED, False).kept.values()
        if one.reader not in (Reader.POURER, Reader.COPIER)
        and "copper" in everything_in(one).lower()
    ]
    assert told != []
    where = {one.name.split(" ", 1)[1] for one in told}
    by_phone = {name for name in where if name.partition(".")[0].endswith(" taster")}
    assert "GET taster.ballot" in by_phone
    assert where - by_phone == {"GET steward.board", "sheet steward-page"}
    for one in told:
        if one.reader is Reader.STEWARD and not one.is_sheet:
            assert one.body.lower().count(b"copper") == 1, one.title


# --- nothing is left out, and nothing compared in vain -------------------------------------------


def kinds(artefacts: list[Artefact]) -> set[str]:
    """Names without their running number."""
    return {one.name.split(" ", 1)[1] for one in artefacts}


ORGANISERS_DEEDS = {
    # Each leads back to one of the organiser's pages, which are looked at; the event itself does
    # these things through the services that they call.
    "organiser.amend",
    "organiser.call_off_one",
    "organiser.close",
    "organiser.close_one",
    "organiser.open_one",
    "organiser.set_aside_rest",
    "organiser_check.seal",
    "organiser_check.take_method",  # of a draft, before there is a key
    "organiser_findings.publish_now",
    "organiser_emergency.open_one",  # what others see of it afterwards is compared
    "organiser_links.make",
    "organiser_links.revoke",
    "organiser_print.again",
    "organiser_printer.correct",
    "organiser_question.save",
    "organiser_recover.recover",
    "organiser_question.start",
    "organiser_settle.settle",
    "organiser_showing.begin",  # after closing, when the key is open
    "organiser_sittings.add",
    "organiser_sittings.remove",
    "organiser_sittings.save",
    # Show which cup is which, to the organiser alone, and are recorded. A pile without the key, as
    # an organiser who tastes prints it, is compared in tests/printing/test_whole_kit.py.
    "organiser_print.everything",
    "organiser_print.key_sheet",
}


def unvisited(app: Flask, album: Album) -> list[str]:
    """Routes of which no blind reader, or no organiser, has an artefact: new ones need a place in
    looking.py, serving.py or doors.py."""
    missing: list[str] = []
    people = {Reader.VOTER: Reader.TASTER}
    visited = {(people.get(reader, reader), *rest) for reader, *rest in album.visited}
    for rule in app.url_map.iter_rules():
        if rule.endpoint in UNGUARDED:
            continue
        audience = audience_of(rule.endpoint.rpartition(".")[0])
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            for reader in readers_of(audience):
                if method != "GET" and rule.endpoint in ORGANISERS_DEEDS:
                    continue
                if (reader, rule.endpoint, method) not in visited:
                    missing.append(f"{reader}: {method} {rule.endpoint}")
    return missing


def readers_of(audience: str) -> set[Reader]:
    """Everybody whom the guard lets into pages of this audience, and who is there."""
    if audience == "organiser":
        return {Reader.ORGANISER}
    roles = AUDIENCES[audience] - {Role.ORGANISER, Role.KEY_HOLDER}
    there = {Reader.TASTER, Reader.STEWARD, Reader.POURER, Reader.MEMBER}
    return {reader for reader in there if ROLES[reader] in roles}


def test_every_route_is_gone_to_by_everybody_whom_it_lets_in(album: Albums) -> None:
    with steady(), evening(USUAL) as event:
        missing = unvisited(event.app, album(USUAL))
    assert missing == [], "go to them in looking.py, serving.py or doors.py, or say here why not"


@pytest.mark.parametrize("blueprint", ["public", "steward", "organiser"])
def test_a_route_that_nobody_went_to_is_found(album: Albums, blueprint: str) -> None:
    with steady(), evening(USUAL) as event:
        event.app.add_url_rule("/later", f"{blueprint}.later", lambda: "", methods=["GET", "POST"])
        missing = {line.split(": ")[1] for line in unvisited(event.app, album(USUAL))}
    assert missing >= {f"GET {blueprint}.later", f"POST {blueprint}.later"}


def test_every_kind_of_answer_is_among_what_is_compared(album: Albums) -> None:
    """Pages, redirections, refusals for every reason; and nothing that broke."""
    compared = [
        one for one in album(USUAL).kept.values() if is_blind(one, Blinding.DOUBLE, Changed.BOTH)
    ]
    statuses = Counter(one.head[0][:3] for one in compared if one.head)
    assert {"200", "302", "400", "403", "404", "409", "422"} <= set(statuses)
    assert not any(status.startswith("5") for status in statuses)
    assert len(compared) > 300
    sheets = {kind for kind in kinds(compared) if kind.startswith("sheet")}
    assert {
        "sheet cup-labels",
        "sheet ballot-cards",
        "sheet steward-page",
        "sheet poster",
    } <= sheets


def test_once_published_nobody_is_blind_and_the_evenings_differ(album: Albums) -> None:
    """So that what is compared is known to show a difference where one may be seen."""
    one, other = album(USUAL), album(TWINS[Changed.NAMES])
    found = differences(one.kept, other.kept, lambda each: each.stage is Stage.PUBLISHED)
    for reader in (Reader.MEMBER, Reader.TASTER):
        assert any(f"· {reader} ·" in line for line in found), reader
    pouring = differences(one.kept, other.kept, lambda each: each.reader is Reader.POURER)
    assert any("pourer.mat" in line for line in pouring)


def test_the_same_facts_make_the_same_evening(album: Albums) -> None:
    """Clock, chance and tokens follow from the seed: no reader at all sees a difference."""
    with steady(), evening(EVENINGS[0]) as event:
        again = walk(event, whole=False)
    assert differences(album(EVENINGS[0], False).kept, again.kept, bool) == []


def test_who_is_blind_follows_from_the_table_of_sights() -> None:
    """A sight that a role may have is no blindness; without one, it is."""
    at = {stage: Artefact(Reader.STEWARD, stage, "", (), b"") for stage in Stage}
    assert is_blind(at[Stage.SERVING], Blinding.DOUBLE, Changed.ORDERS)
    assert not is_blind(at[Stage.SERVING], Blinding.SINGLE, Changed.ORDERS)
    assert is_blind(at[Stage.CLOSED], Blinding.DOUBLE, Changed.NAMES)
    assert not is_blind(at[Stage.PUBLISHED], Blinding.DOUBLE, Changed.NAMES)
    early = TABLE[Role.TASTER].get(Sight.KEY)
    assert early is None
    assert TABLE[Role.MEMBER][Sight.KEY].since is Standing.PUBLISHED


def test_the_seal_alone_is_masked(album: Albums) -> None:
    """It stands, in its constant form, where everybody compares it."""
    page = next(
        one
        for one in album(USUAL).of(Reader.MEMBER)
        if one.stage is Stage.SEALED and "public.result" in one.name
    )
    assert MASK[:8].encode() in page.body
