"""README and docs hold: links lead somewhere, pictures are there, commands can be typed."""

import re

import click
import pytest

from panel.cli import COMMANDS
from panel.cli import panel as overview
from tests.docs import bundle_page, pages, standings
from tests.pictures import FOLDER, NAMES

ONE_PICTURE, ALL_PICTURES = 150_000, 1_500_000
"""Bytes: a clone stays small."""


@pytest.mark.parametrize("page", pages.PAGES)
def test_links_lead_somewhere(page):
    assert pages.broken(page, pages.text(page)) == []


@pytest.mark.parametrize(
    "link", ["[a](docs/nothing.md)", "[a](#no-such-heading)", '<img alt="" src="docs/none.png">']
)
def test_a_broken_link_is_seen(link):
    assert len(pages.broken("README.md", link)) == 1


def test_every_page_of_docs_is_in_its_index():
    index = set(pages.links(pages.text("docs/README.md")))
    listed = {page.removeprefix("docs/") for page in pages.PAGES if page.startswith("docs/")}
    in_their_own = {page for page in listed if page.startswith("decisions/0")}
    assert listed - in_their_own - {"README.md"} - index == set()


def test_the_pictures_are_those_that_the_command_makes():
    assert sorted(path.name for path in FOLDER.iterdir()) == sorted(NAMES)


def test_every_picture_is_shown_to_readers():
    linked = {
        link.rsplit("/")[-1] for page in pages.PAGES for link in pages.links(pages.text(page))
    }
    assert set(NAMES) - linked == set()


def test_pictures_are_small():
    sizes = [path.stat().st_size for path in FOLDER.iterdir()]
    assert max(sizes) < ONE_PICTURE
    assert sum(sizes) < ALL_PICTURES


def test_readme_begins_with_the_job_and_two_commands():
    words = pages.text("README.md")
    blocks = re.findall(r"^```sh\n(.*?)^```", words, re.MULTILINE | re.DOTALL)
    assert blocks[0].endswith("panel demo\n")
    assert blocks[1].endswith("-m pytest -n auto --dist worksteal\n")
    assert words.index("```sh") < words.index("![")


def shown(kind):
    """Commands of all pages, as (page, arguments)."""
    return [(page, args) for page in pages.PAGES for args in kind(pages.text(page))]


@pytest.mark.parametrize(("page", "args"), shown(pages.commands), ids=str)
def test_a_command_that_is_shown_can_be_typed(page, args):
    assert refused(args) == ""


@pytest.mark.parametrize(("page", "args"), shown(pages.mentions), ids=str)
def test_a_command_that_is_mentioned_is_there(page, args):
    assert unknown(args) == []


def refused(args: list[str]) -> str:
    """Why a command line cannot be parsed; "" if it can. Nothing is run."""
    try:
        with overview.make_context("panel", list(args)) as ctx:
            command = overview.get_command(ctx, args[0])
            if command is None:
                return f"there is no command {args[0]}"
            command.make_context(args[0], args[1:], parent=ctx).close()
    except click.ClickException as refusal:
        return refusal.format_message()
    return ""


def unknown(args: list[str]) -> list[str]:
    """What of a mention the program does not know: its command, its options."""
    name = args[0] if args[0] != "COMMAND" else "host"
    if name in COMMANDS:
        known = options(name) | {"--help"}
        return [one for one in args[1:] if one.startswith("-") and one not in known]
    return [name] if name not in options() else []


def test_commands_are_found_in_blocks_and_in_sentences():
    words = "Use `panel tally --tasters`.\n```sh\n.venv/bin/panel demo --port 0  # look\nls\n```\n"
    assert list(pages.commands(words)) == [["demo", "--port", "0"]]
    assert list(pages.mentions(words)) == [["tally", "--tasters"]]
    assert len(shown(pages.commands)) > 10


@pytest.mark.parametrize("line", ["brew", "plan --metod triangle", "critical --method triangle"])
def test_a_command_that_cannot_be_typed_is_seen(line):
    assert refused(line.split()) != ""


@pytest.mark.parametrize("line", ["brew", "plan --metod", "--verse"])
def test_a_mention_of_what_is_not_there_is_seen(line):
    assert unknown(line.split()) != []


def options(*names: str) -> set[str]:
    """The options of some commands, or of all and of the overview."""
    with click.Context(overview) as ctx:
        found = [overview.get_command(ctx, name) for name in names or COMMANDS]
    return {
        name
        for command in (*found, *([] if names else [overview]))
        for option in command.params
        if isinstance(option, click.Option)
        for name in option.opts
    }


def test_the_reference_names_every_command_and_option():
    words = pages.text("docs/commands.md")
    assert [name for name in COMMANDS if f"## `panel {name}`" not in words] == []
    assert [name for name in sorted(options()) if f"`{name}`" not in words] == []


def test_the_reference_names_no_option_that_is_not_there():
    named = set(re.findall(r"`(--[a-z-]+)`", pages.text("docs/commands.md")))
    assert named - options() == set()


def test_the_diagram_of_standings_is_current():
    page = standings.PAGE.read_text(encoding="utf-8")
    assert standings.renewed(page) == page


def test_a_stale_diagram_is_seen():
    page = standings.PAGE.read_text(encoding="utf-8").replace("drafted --> sealed: seal\n", "")
    assert standings.renewed(page) != page


def test_the_columns_of_a_bundle_are_those_that_are_written():
    """`python -m tests.docs.bundle_page` writes the page anew."""
    words = pages.text("docs/bundle.md")
    assert bundle_page.renewed(words) == words
    assert "| `answer` | string, may be empty |" in words
