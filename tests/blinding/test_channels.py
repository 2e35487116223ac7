"""docs/blinding.md says what is so: up to date, every test there, every leak in its place."""

import ast
import re
from pathlib import Path

import pytest

from panel.printing.kit import sheet
from tests.blinding import test_planted_draws, test_planted_leaks
from tests.blinding.channels import CHANNELS, PAGE, Channel, page
from tests.printing.papers import a_job, text_of

TESTS = Path(__file__).parents[1]
ALL = [channel for channels in CHANNELS.values() for channel in channels]
PLANTED = {*test_planted_draws.LEAKS, *test_planted_leaks.LEAKS}
NEEDS_NO_LEAK = {
    # Nothing of the evening's can be changed so that it leaks: a guard, a record, a limit of time
    # or place, whose own tests fail without it.
    "A known seed: the same evening drawn again",
    "A single label or card printed again",
    "Pour mats, pour sheet or sealed key lying about, on a shared printer, in a cache",
    "A picture of a card: what the camera wrote into it, its file's name",
    "Ids in addresses that can be counted up",
    "The page on which copies that differ are settled",
    "A borrowed phone: its cache, its history, its back button",
    "Other people's servers: pictures, styles, counters, the address one came from",
    "A page that is somebody else's",
    "Comments on a ballot, read by others",
    "Database or backup, and instance.key beside it",
    # Planted by hand in the test that stands beside it.
    "What was answered, on the pages of whoever knows which cup is which",
}


def names_in(path: str) -> set[str]:
    """The functions at the top of a test file."""
    tree = ast.parse((TESTS / path).read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_the_page_is_up_to_date() -> None:
    written = PAGE.read_text(encoding="utf-8")
    assert written == page(), "run: .venv/bin/python -m tests.blinding.channels"


@pytest.mark.parametrize("channel", ALL, ids=lambda channel: channel.way)
def test_every_way_out_has_its_proof(channel: Channel) -> None:
    """A test that is there, or words that stand on a sheet of the kit."""
    assert channel.tests or channel.kit
    for test in channel.tests:
        path, _, name = test.partition("::")
        assert name in names_in(path), test
    for name, words in channel.kit:
        said = re.sub(r"\s+", " ", text_of(sheet(name, a_job())))
        assert words in said, (name, words)


def test_every_planted_leak_has_its_way_out_and_every_way_out_its_leak() -> None:
    named = {leak for channel in ALL for leak in channel.leaks}
    assert named == PLANTED
    without = {channel.way for channel in ALL if not channel.leaks and channel.tests}
    people = {channel.way for channel in CHANNELS["People and cups"]}
    assert without - people == NEEDS_NO_LEAK


def test_ways_out_have_names_of_their_own() -> None:
    ways = [channel.way for channel in ALL]
    assert len(set(ways)) == len(ways) > 40
