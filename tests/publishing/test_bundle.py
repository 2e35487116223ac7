"""The bundle: a valid Data Package, the same from the same data, without anybody's name."""

import csv
import hashlib
import io
import json
import re
import zipfile
from collections import Counter
from dataclasses import replace

import frictionless
import pytest

from panel.core.errors import PanelError
from panel.core.licences import LICENCES
from panel.core.names import Information
from panel.publishing.bundle import Choice, Published, bundle_bytes, bundle_files
from panel.publishing.bundle_columns import SMALLEST_GROUP
from panel.publishing.bundle_tables import Counted, disarmed
from panel.publishing.report.edition import Edition
from panel.services import show_result
from panel.services.show_result import Wishes
from tests.builders import ORGANISER
from tests.publishing.opened import opened, result
from tests.publishing.packages import Files, unpacked
from tests.publishing.whole_event import WORDS, place, whole_event
from tests.results import comparison, evening, right_and_wrong, sitting

CHOICE = Choice(edition=Edition(link="", software="panel 0"))


def rows(files: Files, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(files[name].decode(), newline="")))


# --- as a package ---------------------------------------------------------------------------------


def test_an_outside_validator_accepts_it(files, tmp_path, monkeypatch):
    """frictionless validates descriptor, bytes, hashes, types, constraints, keys between tables."""
    for name, content in files.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
    monkeypatch.chdir(tmp_path)
    report = frictionless.validate("datapackage.json")
    assert report.flatten(["type", "note"]) == []
    assert {task.name for task in report.tasks if task.type == "table"} == {
        "ballots", "trays", "cups", "late",
    }  # fmt: skip


def test_the_validator_sees_a_row_that_does_not_fit(files, tmp_path, monkeypatch):
    """So that the test above can fail: a ballot of a tray that is not there."""
    for name, content in files.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(
            content.replace(b"\r\n3,", b"\r\n9003,") if name == "ballots.csv" else content
        )
    monkeypatch.chdir(tmp_path)
    types = {type for (type,) in frictionless.validate("datapackage.json").flatten(["type"])}
    assert {"hash-count", "byte-count", "foreign-key"} & types


def test_the_descriptor_says_what_version_2_asks_for(files):
    """Data Package 2.0: $schema, name, id, licenses; each resource path, hash with its algorithm,
    bytes; profile addresses as published on datapackage.org."""
    words = json.loads(files["datapackage.json"])
    assert words["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert re.fullmatch(r"[-a-z0-9._/]+", words["name"])
    assert words["licenses"][0]["name"] == "CC-BY-4.0"
    assert {one["path"] for one in words["resources"]} == files.keys() - {"datapackage.json"}
    names = [one["name"] for one in words["resources"]]
    assert len(set(names)) == len(names)
    for one in words["resources"]:
        content = files[one["path"]]
        assert one["hash"] == f"sha256:{hashlib.sha256(content).hexdigest()}"
        assert one["bytes"] == len(content)
        assert re.fullmatch(r"[-a-z0-9._/]+", one["name"])


def test_the_same_data_give_the_same_bytes(tmp_path):
    made = []
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        with place(tmp_path / name) as at:
            known = whole_event(at)
            made.append(show_result.public_bundle(at, known.slug))
            show_result.publish_static(at, ORGANISER, known.id, tmp_path / name / "out")
            made.append((tmp_path / name / "out" / "bundle.zip").read_bytes())
    assert len(set(made)) == 1


def test_the_archive_holds_no_clock_and_no_machine(bundle):
    with zipfile.ZipFile(io.BytesIO(bundle)) as pack:
        assert pack.namelist()[:2] == ["datapackage.json", "README.txt"]
        facts = {
            (one.date_time, one.create_system, one.compress_type, one.external_attr, one.extra)
            for one in pack.infolist()
        }
    assert facts == {((1980, 1, 1, 0, 0, 0), 3, 0, 0o100644 << 16, b"")}


@pytest.mark.parametrize("licence", LICENCES)
def test_the_organiser_chooses_the_licence(event, licence):
    at, known = event
    made = unpacked(show_result.bundle(at, ORGANISER, known.id, Wishes(licence=licence)))
    (given,) = json.loads(made["datapackage.json"])["licenses"]
    assert given["name"] == licence
    assert given["path"].startswith("https://")
    assert licence in made["README.txt"].decode()


def test_an_unknown_licence_is_refused(event):
    at, known = event
    with pytest.raises(PanelError) as refused:
        show_result.bundle(at, ORGANISER, known.id, Wishes(licence="my own"))
    assert refused.value.field == "licence"


# --- what stands in it ----------------------------------------------------------------------------


def test_every_tray_with_a_ballot_stands_there_once(files):
    ballots = Counter(row["tray"] for row in rows(files, "ballots.csv"))
    trays = rows(files, "trays.csv")
    came = {row["tray"] for row in trays if row["fate"] in ("counted", "told", "late")}
    assert set(ballots.values()) == {1}
    assert came <= ballots.keys()
    assert {row["counts_as"] for row in rows(files, "ballots.csv")} == {
        "blinded", "informed", "told-at-the-table", "repeat-trials", "set-aside", "late",
    }  # fmt: skip
    assert Counter(row["tray"] for row in rows(files, "cups.csv")) == Counter(
        {row["tray"]: 3 for row in trays}
    )


def test_no_name_no_word_and_no_moment_of_a_ballot_is_in_it(files):
    for name, content in files.items():
        text = content.decode()
        for secret in ("Ann", "ANN", "Bo,", "hay", "HYPERLINK"):
            assert secret not in text, (name, secret)
    for name in ("ballots.csv", "trays.csv", "cups.csv"):
        assert not re.search(r"\d\d:\d\d", files[name].decode()), name
    lines = json.loads(files["records.json"])["lines"]
    dark = [line for line in lines if "told" in line]
    assert {line["what"] for line in dark} >= {"ballot-taken", "ballot-late", "taster-named"}
    for line in dark:
        assert set(line) == {"sequence", "what", "told", "hash"}


def test_one_name_on_two_trays_is_a_mark(files):
    marks = {row["tray"]: row["taster"] for row in rows(files, "ballots.csv") if row["taster"]}
    assert marks["3"] == marks["4"]  # 7 and 07: one hand-out number
    assert marks["5"] == marks["6"]  # Ann and ANN: one nickname
    assert marks["3"].startswith("n")
    assert marks["5"].startswith("w")
    assert len(marks) == 5  # and the one named tray of the repeat trials


def test_side_answers_of_few_are_left_out(files):
    """Counted here anew: people by sitting, group and what they knew; repeat trials are one."""
    found = rows(files, "ballots.csv")
    sizes = Counter((row["sitting"], row["counts_as"], row["knew"]) for row in found)
    kept = 0
    for row in found:
        size = sizes[row["sitting"], row["counts_as"], row["knew"]]
        few = size < SMALLEST_GROUP or row["counts_as"] == "repeat-trials"
        assert (row["sure"] == "") is few, row
        kept += not few
    assert kept > 20
    assert any(row["counts_as"] == "told-at-the-table" for row in found)


def test_free_words_are_given_if_chosen_and_never_as_a_formula(event):
    at, known = event
    wishes = Wishes(licence="CC0-1.0", free_words=True)
    found = rows(unpacked(show_result.bundle(at, ORGANISER, known.id, wishes)), "ballots.csv")
    given = {row["words"] for row in found}
    assert given == {"", f"'{WORDS}"}
    assert all(row["words"] == "" for row in found if row["counts_as"] == "told-at-the-table")


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1"])
def test_a_formula_is_disarmed(cell):
    """The characters are those of OWASP's page on CSV injection."""
    assert disarmed(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["", "482 153", "nothing", "2+2", "a=b"])
def test_an_innocent_cell_stays(cell):
    assert disarmed(cell) == cell


def test_columns_are_those_of_the_schema(files):
    words = json.loads(files["datapackage.json"])
    for one in words["resources"]:
        if "schema" in one:
            header = files[one["path"]].decode().split("\r\n", 1)[0]
            assert header.split(",") == [field["name"] for field in one["schema"]["fields"]]
            assert all(field["description"] for field in one["schema"]["fields"])


def test_nothing_is_given_before_publication(tmp_path):
    with place(tmp_path) as at:
        known = whole_event(at, publishes=False)
        with pytest.raises(PanelError):
            show_result.public_bundle(at, known.slug)
        with pytest.raises(PanelError):
            show_result.bundle(at, ORGANISER, known.id)


def test_four_are_few_and_five_are_enough():
    for tasters, given in ((4, ""), (5, "sure")):
        known, seal = opened(evening(comparison(), right_and_wrong("blue", 2, tasters)))
        ballots = tuple(
            replace(one, answers={**one.answers, "sure": ("sure",)}) for one in known.ballots
        )
        counted = Counted(
            comparison=known.comparison, key=known.key, trays=known.trays, ballots=ballots
        )
        whole = Published(result=result(known), counted=counted, opened=seal)
        found = rows(bundle_files(whole, CHOICE), "ballots.csv")
        assert {row["sure"] for row in found} == {given}


def test_a_sitting_of_nobody_makes_a_bundle_too():
    known, seal = opened(
        evening(
            comparison(None, sitting("blue"), sitting("green", Information.INFORMED)),
            right_and_wrong("blue", 0, 1) + right_and_wrong("green", 0, 1),
        )
    )
    counted = Counted(comparison=known.comparison, key=known.key, trays=known.trays, ballots=())
    whole = Published(result=result(replace(known, ballots=())), counted=counted, opened=seal)
    assert (
        rows(
            unpacked(bundle_bytes(whole, CHOICE)),
            "ballots.csv",
        )
        == []
    )


def test_the_readme_shows_the_seal_as_the_poster_does(files):
    words = json.loads(files["comparison.json"])
    text = files["README.txt"].decode()
    assert words["seal"]["digest"] in re.sub(r"\s", "", text)
