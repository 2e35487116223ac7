"""The static folder: complete, checkable without us, harmless to what lies in its place."""

import hashlib
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from panel.core.allocation.check_letter import card_number
from panel.core.errors import PanelError
from panel.core.outcomes import Group
from panel.core.plan_document import plan_document
from panel.publishing.report.edition import Edition
from panel.publishing.static_page import OpenedSeal, static_contents, write_static
from panel.publishing.style import static_style
from tests.publishing.opened import SECRET, opened, result
from tests.results import Evening, comparison, evening, right_and_wrong, sitting, two_tables

ROOT = Path(__file__).parents[2]


def write(event: Evening, out: Path, **more: Any) -> Evening:
    known, seal = opened(event)
    write_static(result(known), known.comparison, out, opened=seal, **more)
    return known


EDITION = Edition(link="https://guild.example/results/abcdefghijklmnop/", software="panel 0.0")


def test_everything_it_needs_lies_in_it(tmp_path):
    write(two_tables(told=2), tmp_path / "result", edition=EDITION, bundle=b"PK")
    here = {str(path.relative_to(tmp_path / "result")) for path in tmp_path.rglob("*.*")}
    assert here == {
        "index.html",
        "report.pdf",
        "picture.png",
        "bundle.zip",
        "codes.html",
        "style.css",
        "look-up.js",
        "findings.json",
        "plan.json",
        "sealed.json",
        "type/text.ttf",
        "type/semibold.ttf",
        "type/bold.ttf",
        "type/title.ttf",
    }
    for page in ("index.html", "codes.html"):
        html = (tmp_path / "result" / page).read_text(encoding="utf-8")
        for target in re.findall(r'(?:href|src)="([^"#][^"]*)"', html):
            known = target in ("data:,", EDITION.link)
            assert known or (tmp_path / "result" / target).exists(), target
    index = (tmp_path / "result" / "index.html").read_text(encoding="utf-8")
    for file in ("report.pdf", "picture.png", "bundle.zip", "codes.html"):
        assert f'href="{file}"' in index
    for target in re.findall(r'url\("([^"]+)"\)', static_style()):
        assert (tmp_path / "result" / target).exists()


def test_it_says_where_it_stays_and_what_a_link_to_it_shows(tmp_path):
    known = write(two_tables(told=2), tmp_path, edition=EDITION)
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert f'href="{EDITION.link}"' in index
    meta = dict(re.findall(r'<meta property="([^"]+)" content="([^"]*)">', index))
    assert meta["og:image"] == f"{EDITION.link}picture.png"
    assert meta["og:title"] == known.comparison.title
    assert meta["og:description"].startswith("15 of 36 blinded tasters found the odd cup.")
    assert "bundle.zip" not in index
    assert (tmp_path / "picture.png").read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF")


def test_anybody_can_check_the_seal_with_sha256(tmp_path):
    known = write(two_tables(), tmp_path)
    sealed = (tmp_path / "sealed.json").read_bytes()
    assert known.comparison.seal is not None
    assert hashlib.sha256(sealed).hexdigest() == known.comparison.seal.digest
    words = json.loads(sealed)
    assert words["secret"] == SECRET.hex()
    assert words["plan"] == json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))
    assert words["key"]["1"] == [[cup.code, known.key[1][cup.position - 1]] for cup in
                                 known.trays[0].cups]  # fmt: skip


def test_a_changed_key_is_said_aloud(tmp_path):
    known, seal = opened(two_tables())
    changed = replace(seal, key={**seal.key, 1: known.key[2]})
    write_static(result(known), known.comparison, tmp_path, opened=changed)
    assert "The seal does not hold." in (tmp_path / "index.html").read_text(encoding="utf-8")


def test_a_sitting_added_after_sealing_leaves_the_seal_whole():
    early = evening(comparison(None, sitting("blue")), right_and_wrong("blue", 3, 9))
    document = plan_document(early.comparison, "panel 0.0")
    known, _ = opened(early)
    both = evening(
        comparison(None, sitting("blue"), sitting("red")),
        (*right_and_wrong("blue", 3, 9), *right_and_wrong("red", 2, 6)),
    )
    seal = OpenedSeal(document=document, secret=SECRET, key=both.key, trays=both.trays)
    assert known.comparison.seal is not None
    assert seal.holds(known.comparison.seal.digest)
    joined = result(replace(both, comparison=replace(both.comparison, seal=known.comparison.seal)))
    assert joined.of(Group.BLINDED)[0].tasters == 15


def test_every_cup_can_be_looked_up(tmp_path):
    known = write(two_tables(), tmp_path)
    html = (tmp_path / "codes.html").read_text(encoding="utf-8")
    for tray in known.trays:
        row = html.split(f'id="card-{tray.number}"')[1].split("</tr>")[0]
        assert card_number(tray.number) in row
        for cup in tray.cups:
            letter = known.key[tray.number][cup.position - 1]
            assert re.search(rf"{cup.code}</span> <span[^>]*>{letter}<", row)


def test_no_answer_of_anybody_is_in_it(tmp_path):
    """Codes are open after publication; what somebody answered is theirs."""
    known, seal = opened(two_tables())
    other = tuple(
        replace(ballot, answers={**ballot.answers, "words": ("Tasted of hay",)})
        for ballot in known.ballots
    )
    known = replace(known, ballots=other)
    contents = static_contents(result(known), known.comparison, opened=seal)
    for name, content in contents.items():
        if not name.startswith("type/"):
            assert b"hay" not in content
            assert b'"answers"' not in content


def test_it_may_be_written_again_and_never_over_something_else(tmp_path):
    write(two_tables(), tmp_path / "a")
    write(two_tables((16, 36)), tmp_path / "a")
    assert "16 of 36" in (tmp_path / "a" / "index.html").read_text(encoding="utf-8")
    (tmp_path / "b").mkdir()
    write(two_tables(), tmp_path / "b")
    (tmp_path / "c").mkdir()
    (tmp_path / "c" / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(PanelError) as refused:
        write(two_tables(), tmp_path / "c")
    assert refused.value.code == "folder-in-use"
    assert [path.name for path in (tmp_path / "c").iterdir()] == ["letter.txt"]
    event = two_tables()
    other = replace(event, comparison=replace(event.comparison, id="another22222"))
    with pytest.raises(PanelError):
        write(other, tmp_path / "a")


def test_a_file_in_the_folders_place_is_refused(tmp_path):
    (tmp_path / "x").write_text("", encoding="utf-8")
    with pytest.raises(PanelError):
        write(two_tables(), tmp_path / "x")


def test_the_same_result_gives_the_same_bytes():
    known, seal = opened(two_tables(told=1))
    first = static_contents(result(known), known.comparison, opened=seal)
    second = static_contents(result(known), known.comparison, opened=seal)
    assert first == second


def variables(css: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in re.findall(r"(--[\w-]+): ([^;]+);", css):
        found.setdefault(name, []).append(value)
    return found


def test_its_colours_are_those_of_the_web_pages():
    """Two rooms that may not read each other's files must still look alike."""
    web = variables((ROOT / "panel" / "web" / "static" / "panel.css").read_text(encoding="utf-8"))
    for name, values in variables(static_style()).items():
        if name not in ("--text", "--display"):
            assert web[name] == values, name
