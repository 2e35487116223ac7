"""What the docs name is called so in the program: settings, labels, cards, standings, buttons."""

import ast
import re
from dataclasses import fields
from pathlib import Path

import pytest

import panel
from panel.core.methods import METHODS
from panel.core.names import CardStanding, SittingStanding, Standing
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.stock import LABELS
from panel.settings import Settings
from tests.docs import pages

PROGRAM = Path(panel.__file__).parent
BY_PERSON = ("organiser", "steward", "pourer", "taster", "printing")
BOLD = re.compile(r"\*\*(.+?)\*\*", re.DOTALL)
NOT_ON_A_PAGE = {
    "bold", "Before the first cup", "With a pencil:", "On a phone:", "Your body comes first.",
    "What is kept:", "The key is lost?", "Large print",
}  # fmt: skip
"""Emphasis in the docs that names nothing on a page."""


PATH = re.compile(r"`((?:panel|tests|docs|demo_event|instance)/[^`\s]*)`")


def missing(words: str) -> list[str]:
    """Files and folders of this project that a page names and that are not there."""
    return [path for path in PATH.findall(words) if not list(pages.ROOT.glob(path.rstrip("/")))]


@pytest.mark.parametrize("page", sorted({*pages.PAGES} - {"docs/commands.md", "docs/printing.md"}))
def test_files_that_are_named_are_there(page):
    assert missing(pages.text(page)) == []


def test_a_file_that_is_not_there_is_seen():
    assert missing("See `panel/core/` and `panel/core/nothing.py`.") == ["panel/core/nothing.py"]


def test_every_room_of_the_core_is_in_the_architecture():
    words = pages.text("docs/architecture.md")
    rooms = [path.parent.name for path in (PROGRAM / "core").glob("*/__init__.py")]
    assert [room for room in rooms if f"`panel/core/{room}/`" not in words] == []


def test_every_setting_is_in_the_reference():
    words = pages.text("docs/commands.md")
    assert [one.name for one in fields(Settings) if f"`{one.name}`" not in words] == []


def test_the_reference_names_no_setting_that_is_not_there():
    table = pages.text("docs/commands.md").partition("## Settings")[2]
    rows = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]
    named = {name for row in rows for name in re.findall(r"`([a-z_]+)`", row)}
    assert named - {one.name for one in fields(Settings)} == set()


def test_every_method_is_in_the_reference():
    words = pages.text("docs/commands.md")
    assert [name for name in METHODS if name not in words] == []


@pytest.mark.parametrize("table", [LABELS, CARD_FORMATS], ids=["labels", "cards"])
def test_every_label_sheet_and_card_is_in_the_docs(table):
    words = pages.text("docs/printing.md")
    assert [name for name in table if f"`{name}`" not in words] == []


@pytest.mark.parametrize("stock", LABELS.values(), ids=lambda one: one.id)
def test_label_sheets_have_the_measures_that_the_docs_say(stock):
    row = f"| {stock.columns} × {stock.rows} | {stock.width:g} × {stock.height:g} |"
    line = next(
        one for one in pages.text("docs/printing.md").splitlines() if f"| `{stock.id}` |" in one
    )
    assert row in line


def test_every_standing_is_in_the_docs():
    words = pages.text("docs/lifecycle.md")
    standings = [*Standing, *SittingStanding, *CardStanding]
    assert [one for one in standings if not re.search(rf"\b{one}\b", words)] == []


def sentences() -> list[str]:
    """Every text of the program: strings of the modules, pieces in quotes of the templates."""
    found = []
    for path in PROGRAM.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found += [
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        ]
    for path in PROGRAM.rglob("templates/**/*.html"):
        found += re.findall(r'"([^"\n]*)"', path.read_text(encoding="utf-8"))
    return found


def named(words: str) -> set[str]:
    """What a page of the docs writes in bold, on one line."""
    return {" ".join(one.split()) for one in BOLD.findall(words)} - NOT_ON_A_PAGE


@pytest.fixture(scope="module")
def program_says() -> set[str]:
    return set(sentences())


@pytest.mark.parametrize("page", BY_PERSON)
def test_pages_and_buttons_bear_the_names_that_the_docs_say(page, program_says):
    assert named(pages.text(f"docs/{page}.md")) - program_says == set()


def test_a_button_that_is_not_there_is_seen(program_says):
    assert named("Press **Seal it** or **Make\nit so**.") - program_says == {"Make it so"}
