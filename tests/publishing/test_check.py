"""A bundle that was tampered with is refused, with the reason: each file, each class of field.

Two kinds of tampering: clumsy (the file's hash is left as it was) and clever (datapackage.json is
made to fit). The clever kind is what every item but the first is for.
"""

import hashlib
import io
import json
import re
import zipfile
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from panel.core.allocation.seal import canonical
from panel.core.errors import PanelError
from panel.core.names import Helpers
from panel.publishing import bundle_reading
from panel.publishing.bundle import zipped
from panel.services import check_published, show_result
from panel.services.check_published import CheckLine
from tests.builders import ORGANISER
from tests.publishing.packages import (
    Files,
    relisted,
    unpacked,
    with_file,
    with_json,
    with_text,
)
from tests.publishing.whole_event import place, whole_event


def wrong(bundle: bytes | Path, seal: str = "") -> list[CheckLine]:
    lines = (
        checked(bundle, seal) if isinstance(bundle, bytes) else check_published.check(bundle, seal)
    )
    return [line for line in lines if not line.holds]


@cache
def checked(bundle: bytes, seal: str) -> tuple[CheckLine, ...]:
    return check_published.check(bundle, seal)


def items(bundle: bytes | Path, **options: Any) -> set[str]:
    return {line.item for line in wrong(bundle, **options)}


def said(bundle: bytes | Path, **options: Any) -> str:
    return " ".join(str(line.message) for line in wrong(bundle, **options))


# --- what holds -----------------------------------------------------------------------------------


def test_a_whole_event_holds_in_every_item(bundle):
    lines = check_published.check(bundle)
    assert [str(line.message) for line in lines if not line.holds] == []
    assert [line.item for line in lines] == [
        "files", "seal", "dice", *["draw"] * 6, "ballots", "findings", "sentences", "facts",
        "amendments", "record",
    ]  # fmt: skip
    text = " ".join(str(line.message) for line in lines)
    assert "Added: all 12 trays are as the secret deals them." in text
    assert "The 2 changes after sealing are listed" in text


@pytest.mark.parametrize("helpers", [Helpers.ALONE, Helpers.THREE])
def test_other_blindings_hold(tmp_path, helpers):
    """Alone: the whole sitting is one shuffle. Three: cover names are drawn too."""
    with place(tmp_path) as at:
        known = whole_event(at, helpers, "tetrad-specified")
        made = show_result.public_bundle(at, known.slug)
    lines = check_published.check(made)
    assert [str(line.message) for line in lines if not line.holds] == []
    covered = [line for line in lines if "cover names" in str(line.message)]
    assert len(covered) == (helpers is Helpers.THREE)
    if covered:
        name = known.beers[0].cover_name
        assert "cover names are not" in said(with_json(unpacked(made), "plan.json", _other(name)))


def _other(name: str) -> Callable[[Any], None]:
    def change(words: Any) -> None:
        (beer,) = (one for one in words["beers"] if one["cover name"] == name)
        beer["cover name"] = "Phoenix"

    return change


def test_an_unpacked_folder_holds(files, tmp_path):
    for name, content in files.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    assert wrong(tmp_path) == []


def test_the_seal_that_somebody_kept(bundle, files):
    digest = json.loads(files["comparison.json"])["seal"]["digest"]
    printed = " ".join(digest[at : at + 4] for at in range(0, 64, 4))
    assert wrong(bundle, seal=printed) == []
    assert wrong(bundle, seal=digest[:8].upper()) == []
    assert items(bundle, seal="0" * 64) == {"poster"}
    assert items(bundle, seal="12345678") == {"poster"}
    assert "not a whole seal" in said(bundle, seal="no seal")


# --- clumsy tampering -----------------------------------------------------------------------------


def test_every_changed_file_is_named(files):
    for name in files.keys() - {"datapackage.json"}:
        text = files[name].replace(b"1", b"2", 1)
        assert text != files[name], name
        message = said(with_file(files, name, text, listed=False))
        assert f"{name} was changed" in message


def test_every_missing_file_is_named(files):
    for name in files.keys() - {"datapackage.json"}:
        left = {one: content for one, content in files.items() if one != name}
        assert f"{name} is listed and missing" in said(zipped(left))


def test_a_file_put_in_is_named(files):
    assert "notes.txt is not listed" in said(zipped({**files, "notes.txt": b"believe me"}))


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ("2.0/datapackage", "1.0/datapackage", "no Data Package of version 2.0"),
        ('"name": "CC-BY-4.0"', '"name": "mine"', "names no licence"),
        ('"name": "counts_as"', '"name": "count"', "columns of ballots.csv are not described"),
        ('"sha256:', '"md5:', "was changed"),
        ('"resources": [', '"resource": [', "cannot be read"),
    ],
)
def test_the_descriptor_is_checked_itself(files, old, new, reason):
    assert reason in said(with_text(files, "datapackage.json", old, new, listed=False))


# --- clever tampering -----------------------------------------------------------------------------

A_TEXT = [
    # file, what stands there, what is written instead, item, reason
    ("plan.json", '"alpha": "0.05"', '"alpha": "0.10"', "seal", "plan.json is not the plan"),
    ("plan.json", '"pd": "0.3"', '"pd": "0.1"', "seal", "plan.json is not the plan"),
    ("plan.json", '"told": "One was', '"told": "None was', "seal", "plan.json is not the plan"),
    ("plan.json", '"neutral title": "Two', '"neutral title": "2', "seal", "plan.json is not"),
    ("sealed.json", '"secret":"', '"secret":"00', "seal", "is not the seal"),
    ("sealed.json", '"text":"4 2', '"text":"4 3', "dice", "does not follow from the dice"),
    ("comparison.json", '"digest": "', '"digest": "0', "seal", "is not the seal"),
    ("cups.csv", "\r\n1,1,", "\r\n1,1,9", "draw", "tray 1 was drawn with the cups"),
    ("trays.csv", ",misfilled,", ",spilled,", "findings", "set aside"),
    ("trays.csv", "unused,", "counted,", "ballots", "trays.csv, tray"),
    ("trays.csv", "3,3 D,", "3,3 X,", "ballots", "card is “3 X”"),
    ("trays.csv", "true,counted,", "false,counted,", "seal", "others informed"),
    ("late.csv", "\r\n1,12,", "\r\n1,11,", "ballots", ""),
    ("late.csv", "T19:35:00Z", "T19:36:00Z", "findings", "late[0]"),
    ("ballots.csv", "blinded,phone", "informed,phone", "ballots", "counts_as is “informed”"),
    ("ballots.csv", ",variable,", ",nothing,", "ballots", "counts_as"),
    ("ballots.csv", ",nothing,", ",variable,", "ballots", "counts_as"),
    ("ballots.csv", ",n1,", ",,", "findings", "cautions"),
    ("amendments.json", "A larger room", "A smaller room", "amendments", "other changes"),
    ("amendments.json", "More people", "Fewer people", "amendments", "other changes"),
    ("findings.json", '"correct": ', '"correct": 1', "findings", "counted anew"),
    ("findings.json", '"verdict": "', '"verdict": "not-', "findings", "verdict"),
    ("findings.json", '"before serving": true', '"before serving": false', "findings", "before"),
    ("findings.json", '"severity": "grave"', '"severity": "note"', "findings", "severity"),
    ("findings.json", '"variable": "', '"variable": "un', "findings", "variable"),
    ("findings.json", "found the odd cup", "found the even cup", "sentences", "not the sentence"),
    ("records.json", '"what": "ballot-taken"', '"what": "started"', "record", ""),
    ("records.json", '"role": "organiser"', '"role": "steward"', "record", "breaks at line 1"),
    ("records.json", '"told": "', '"told": "f', "record", "breaks at line"),
    ("records.json", '"head": "', '"head": "f', "record", "does not end"),
    ("records.json", '"count": ', '"count": 1', "record", "does not end"),
]


@pytest.mark.parametrize(("name", "old", "new", "item", "reason"), A_TEXT)
def test_a_changed_text_is_found_by_what_follows_from_it(files, name, old, new, item, reason):
    changed = with_text(files, name, old, new)
    assert "files" not in items(changed)
    assert item in items(changed) or "contents" in items(changed)
    assert reason in said(changed)


def test_every_digit_of_every_number_counts(files):
    """The last digit of each number of findings.json, one after another."""
    text = files["findings.json"].decode()
    found = 0
    for match in re.finditer(r"-?\d+\.\d{6,}", text):
        last = str((int(match.group()[-1]) + 4) % 9 + 1)
        if float(match.group()[:-1] + last) == float(match.group()):
            continue  # beyond what a double can hold
        changed = text[: match.end() - 1] + last + text[match.end() :]
        found += 1
        if found % 5 == 0:  # a fifth of them is enough for every run
            assert "findings" in items(with_file(files, "findings.json", changed.encode()))
    assert found > 40


def test_a_number_of_another_kind_is_another_value(files):
    changed = with_text(files, "findings.json", '"sides": 1', '"sides": 1.0')
    assert "plan.sides is 1.0" in said(changed)


def test_an_answer_that_was_turned_is_found(files):
    """Somebody makes a wrong answer right: the findings no longer follow."""
    text = files["ballots.csv"].decode()
    cups = [line.split(",") for line in files["cups.csv"].decode().split("\r\n")[1:-1]]
    codes = [code for tray, _, code, _ in cups if tray == "25"]
    row = next(line for line in text.split("\r\n") if line.startswith("25,"))
    given = row.split(",")[6]
    reasons = set()
    for code in codes:
        if code != given:
            other = row.replace(f",{given},", f",{code},", 1)
            reasons |= items(with_file(files, "ballots.csv", text.replace(row, other).encode()))
    assert "findings" in reasons
    strange = text.replace(row, row.replace(f",{given},", ",111,", 1))
    assert "is not one to choose from on this tray" in said(
        with_file(files, "ballots.csv", strange.encode())
    )


def test_two_cups_that_changed_places_are_found(files):
    lines = files["cups.csv"].decode().split("\r\n")
    beers = [line[-1] for line in lines[1:4]]
    odd = next(at for at in (1, 2, 3) if beers.count(beers[at - 1]) == 1)
    other = odd % 3 + 1
    for at, beer in ((odd, beers[other - 1]), (other, beers[odd - 1])):
        lines[at] = lines[at][:-1] + beer
    changed = with_file(files, "cups.csv", "\r\n".join(lines).encode())
    assert {"seal", "draw"} <= items(changed)
    assert "Blue: tray 1 was drawn with the cups" in said(changed)
    assert "cups.csv is not the key that was sealed" in said(changed)


def test_another_draw_with_a_seal_of_its_own_is_found(files):
    """Somebody moves a cup and seals anew: the secret does not deal it. Only the poster can show
    that the seal is another one; here the draw shows it too."""
    sealed = json.loads(files["sealed.json"])
    sealed["key"]["1"] = sealed["key"]["1"][::-1]
    sealed["key"]["1"][0][1], sealed["key"]["1"][1][1] = "A", "B"
    content = canonical(sealed)
    about = files["comparison.json"].decode()
    digest = json.loads(about)["seal"]["digest"]
    anew = about.replace(digest, hashlib.sha256(content).hexdigest()).encode()
    changed = relisted({**files, "sealed.json": content, "comparison.json": anew})
    assert {"seal", "record"} <= items(changed)
    assert "poster" in items(changed, seal=digest)


def test_an_added_sittings_cups_follow_from_the_secret_too(files):
    """The seal does not cover them, the draw does."""
    text = files["cups.csv"].decode()
    row = next(line for line in text.split("\r\n") if line.startswith("85,1,"))
    other = row[:-1] + ("B" if row.endswith("A") else "A")
    changed = with_file(files, "cups.csv", text.replace(row, other).encode())
    assert "seal" not in items(changed)
    assert "Added: tray 85 was drawn" in said(changed)


def test_a_seal_made_after_the_first_cup_is_said(files):
    def later(words: Any) -> None:
        words["seal"]["made"] = "2027-03-15T00:00:00.000000+00:00"

    assert "before serving" in said(with_json(files, "comparison.json", later))


def everywhere(files: Files, change: Callable[[Any], None]) -> bytes:
    """Who saw the key, told otherwise in both files that tell of it."""

    def in_file(words: Any) -> None:
        change(words["who saw the key"])

    once = unpacked(with_json(files, "comparison.json", in_file))
    return with_json(once, "findings.json", in_file)


def emptied(people: Any) -> None:
    people.clear()


def of_another_role(people: Any) -> None:
    people[0]["role"] = "pourer"


def never_at_the_screen(people: Any) -> None:
    people[0]["seen"] = []


def seen_later(people: Any) -> None:
    people[0]["seen"][0]["first"] = "2027-03-15T00:00:00Z"


def seen_elsewhere(people: Any) -> None:
    people[0]["seen"][0]["sitting"] = None


@pytest.mark.parametrize(
    "change", [emptied, of_another_role, never_at_the_screen, seen_later, seen_elsewhere]
)
def test_who_saw_the_key_follows_from_the_record(files, change):
    """Even where both files that tell of it are made to agree."""
    changed = everywhere(files, change)
    assert "record" in items(changed)
    assert "others who saw the key than the record" in said(changed)


@pytest.mark.parametrize(
    ("field", "deed"),
    [
        ("trays", "tray-revealed"),
        ("settled", "question-settled"),
        ("set aside", "set-aside"),
        ("taken back", "taken-back"),
        ("keyed", "ballot-taken"),
    ],
)
def test_nobody_did_more_than_the_record_has_lines(files, field, deed):
    def more(people: Any) -> None:
        people[0][field] = 1000

    assert f"more lines “{deed}”" in said(everywhere(files, more))


def test_the_blinding_is_counted_anew(files):
    known = json.loads(files["findings.json"])["blinding by the record"]
    assert [one["by the record"] for one in known] == ["single", *["double"] * 5]
    changed = with_text(
        files, "findings.json", '"by the record": "single"', '"by the record": "double"'
    )
    assert "blinding by the record[0].by the record" in said(changed)
    innocent = everywhere(files, lambda people: people[0].update({"handed out": {}}))
    assert "findings" in items(innocent)


@pytest.mark.parametrize("what", ["amended", "sealed", "published", "sitting-opened"])
def test_a_line_taken_out_of_the_record_is_found(files, what):
    def shorter(words: Any) -> None:
        words["lines"] = [line for line in words["lines"] if line["what"] != what]
        words["count"] = len(words["lines"])
        words["head"] = words["lines"][-1]["hash"]

    assert "record" in items(with_json(files, "records.json", shorter))


def test_the_facts_of_a_draw_are_checked(files):
    name = next(one for one in files if one.startswith("draw/"))
    changed = with_text(files, name, '"wave_size": 6', '"wave_size": 12')
    assert f"{name} is not what this draw followed from" in said(changed)


def test_sentences_of_another_version_are_told_apart_from_tampering(files):
    def older(words: Any) -> None:
        words["software"] = "panel 0.0.1"

    reworded = with_text(files, "findings.json", "found the odd cup", "picked the odd cup")
    changed = with_json(unpacked(reworded), "comparison.json", older)
    assert "written by panel 0.0.1. Check the sentences with that version" in said(changed)


def test_a_field_that_another_version_did_not_know_is_no_tampering_and_of_this_one_it_is(files):
    def before_priors(words: Any) -> None:
        for finding in words["findings"]:
            del finding["flat prior"]

    def older(words: Any) -> None:
        words["software"] = "panel 0.0.1"

    bundle = with_json(files, "findings.json", before_priors)
    lacking = unpacked(bundle)
    assert "flat prior is None" in said(bundle)
    assert "findings" not in items(with_json(lacking, "comparison.json", older))

    def wrong_count(words: Any) -> None:
        words["findings"][0]["p"] = 0.001

    both = unpacked(with_json(lacking, "findings.json", wrong_count))
    assert "findings" in items(with_json(both, "comparison.json", older))


# --- a published folder ---------------------------------------------------------------------------


@pytest.fixture
def folder(event, tmp_path):
    at, known = event
    show_result.publish_static(at, ORGANISER, known.id, tmp_path / "result")
    return tmp_path / "result"


def test_a_published_folder_holds(folder):
    assert wrong(folder) == []
    assert "folder" in {line.item for line in check_published.check(folder)}


@pytest.mark.parametrize(
    "name", ["index.html", "codes.html", "findings.json", "plan.json", "sealed.json", "style.css"]
)
def test_a_changed_page_is_named(folder, name):
    path = folder / name
    path.write_bytes(path.read_bytes().replace(b"a", b"b", 1))
    assert f"{name} is not what the bundle makes" in said(folder)


def test_a_page_put_in_or_taken_away_is_named(folder):
    (folder / "extra.html").write_text("believe me", encoding="utf-8")
    (folder / "codes.html").unlink()
    assert "extra.html does not belong" in said(folder)
    assert "codes.html is missing" in said(folder)


# --- what is no bundle ----------------------------------------------------------------------------


def refused(source: bytes | Path) -> str:
    with pytest.raises(PanelError) as refusal:
        check_published.check(source)
    assert len(str(refusal.value.message)) > 40
    return refusal.value.code


def archive(**content: bytes) -> bytes:
    pack = io.BytesIO()
    with zipfile.ZipFile(pack, "w", zipfile.ZIP_DEFLATED) as made:
        for name, words in content.items():
            made.writestr(name, words)
    return pack.getvalue()


def test_what_is_no_archive_is_refused(tmp_path, bundle):
    assert refused(b"") == "bundle-damaged"
    assert refused(b"%PDF-1.7") == "bundle-damaged"
    assert refused(bundle[: len(bundle) // 2]) == "bundle-damaged"
    assert refused(archive(letter=b"dear")) == "no-bundle"
    assert refused(tmp_path) == "no-bundle"
    assert refused(tmp_path / "nothing.zip") == "no-bundle"


def test_a_bomb_is_not_unpacked(monkeypatch):
    """Zeros pack a thousand to one; the sizes that the archive admits are looked at first."""
    huge = archive(**{"datapackage.json": b"0" * (bundle_reading.LARGEST_FILE + 1)})
    assert len(huge) < 100_000
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda *_: pytest.fail("it was unpacked"))
    assert refused(huge) == "bundle-too-large"


def test_many_small_bombs_are_not_unpacked(monkeypatch):
    monkeypatch.setattr(bundle_reading, "LARGEST_FILE", 1000)
    monkeypatch.setattr(bundle_reading, "LARGEST_WHOLE", 2500)
    assert refused(archive(a=b"0" * 900, b=b"0" * 900, c=b"0" * 900)) == "bundle-too-large"
    monkeypatch.setattr(bundle_reading, "MOST_FILES", 2)
    assert refused(archive(a=b"", b=b"", c=b"")) == "bundle-too-large"
    monkeypatch.setattr(bundle_reading, "LARGEST_BUNDLE", 10)
    assert refused(archive(a=b"")) == "bundle-too-large"


def test_a_length_that_lies_is_damage(files):
    made = bytearray(zipped({"datapackage.json": b"{}" * 50}))
    at = made.rfind(b"PK\x01\x02")
    made[at + 24 : at + 28] = (10).to_bytes(4, "little")  # the size in the central directory
    assert refused(bytes(made)) == "bundle-damaged"


@pytest.mark.parametrize("name", ["../up.txt", "/etc/up.txt", "a\\..\\up.txt", "C:up.txt"])
def test_a_name_that_leads_out_is_refused(name):
    assert refused(archive(**{"datapackage.json": b"{}", name: b"x"})) == "bundle-unsafe"


def test_two_files_of_one_name_and_links_are_refused(tmp_path):
    assert refused(archive(**{"datapackage.json": b"{}", "DataPackage.json": b"{}"})) == (
        "bundle-unsafe"
    )
    (tmp_path / "datapackage.json").write_text("{}", encoding="utf-8")
    (tmp_path / "plan.json").symlink_to("/etc/hostname")
    assert refused(tmp_path) == "bundle-unsafe"


@pytest.mark.parametrize(
    "content",
    [b"", b"{", b"[]", b"null", b'{"format": NaN}', b"[" * 100_000, b"\xff\xfe", b"7" * 10_000],
    ids=["empty", "half", "list", "null", "nan", "deep", "bytes", "digits"],
)
@pytest.mark.parametrize(
    "name",
    ["plan.json", "sealed.json", "comparison.json", "amendments.json", "records.json",
     "findings.json", "datapackage.json", "ballots.csv", "cups.csv"],
)  # fmt: skip
def test_rubbish_is_a_line_and_never_a_crash(files, name, content):
    rubbish = zipped({**files, name: content})
    assert wrong(rubbish) != []


@pytest.mark.parametrize("field", ["planned", "drawn"])
def test_a_plan_beyond_all_measure_is_a_line(files, field):
    def grown(words: Any) -> None:
        words["sittings"][0][field] = 10**15

    assert "contents" in items(with_json(files, "plan.json", grown)) or "draw" in items(
        with_json(files, "plan.json", grown)
    )


def test_lines_are_values(bundle):
    line = check_published.check(bundle)[0]
    assert replace(line, holds=False) != line
