"""Every language beside English is whole: nothing empty, nothing lost, and its sheets fit.

What fits is held by printing: every sheet of every test, paper and kind of sitting.
"""

import ast
import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from panel.catalogue import FOLDER, languages, speaker
from panel.core.methods import METHODS
from panel.core.names import Paper, SittingKind
from panel.printing.kit import contents, sheet
from tests.printing.papers import a_job
from tests.structure.checkout import ROOT

OTHERS = tuple(language for language in languages() if language != "en")
PLACES = re.compile(r"%\(\w+\)[sd]|%%")


def written(language: str) -> Path:
    return FOLDER / language / "LC_MESSAGES" / "messages.po"


def catalogue(path: Path, language: str | None = None):
    with path.open("rb") as file:
        return read_po(file, locale=language)


def parts(words):
    return (words,) if isinstance(words, str) else tuple(words)


def test_german_is_spoken():
    assert "de" in OTHERS


def said_in_code():
    """Every sentence in the code, read from its syntax; a plural one as a pair."""
    for path in (ROOT / "panel").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                count = {"say": 1, "say_n": 2}.get(node.func.id, 0)
                given = [one.value for one in node.args[:count] if isinstance(one, ast.Constant)]
                if count and len(given) == count and isinstance(given[0], str):
                    yield tuple(given)


def test_every_sentence_in_the_code_is_gathered():
    """The gatherer loses a plural with another sentence among its arguments: keep them apart."""
    gathered = {parts(one.id) for one in catalogue(FOLDER / "messages.pot") if one.id}
    assert len(gathered) > 2500
    assert set(said_in_code()) - gathered == set()


@pytest.mark.parametrize("language", OTHERS)
def test_it_has_every_sentence_and_none_is_empty_or_doubtful(language):
    wanted = {parts(one.id) for one in catalogue(FOLDER / "messages.pot") if one.id}
    found = {parts(one.id): one for one in catalogue(written(language), language) if one.id}
    assert found.keys() == wanted
    assert [key for key, one in found.items() if one.fuzzy or not all(parts(one.string))] == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_place_for_a_number_or_name_is_lost(language):
    wrong = [
        (english, other)
        for one in catalogue(written(language), language)
        if one.id
        for english, other in zip(parts(one.id), parts(one.string), strict=True)
        if sorted(PLACES.findall(english)) != sorted(PLACES.findall(other))
    ]
    assert wrong == []


@pytest.mark.parametrize("language", OTHERS)
def test_what_is_compiled_is_what_is_written(language):
    compiled = io.BytesIO()
    write_mo(compiled, catalogue(written(language), language))
    kept = written(language).with_suffix(".mo").read_bytes()
    assert compiled.getvalue() == kept


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("method", METHODS)
def test_every_sheet_fits(method, language):
    for paper, kind in ((Paper.A4, SittingKind.TABLE), (Paper.LETTER, SittingKind.PARCEL)):
        job = a_job(method=method, paper=paper, planned=4, kind=kind)
        job = replace(job, order=replace(job.order, speak=speaker(language)))
        for content in contents(job):
            assert sheet(content.name, job).startswith(b"%PDF"), content.name


@pytest.mark.parametrize("language", OTHERS)
def test_repeat_trials_fit_too(language):
    job = a_job(method="triangle", planned=6, kind=SittingKind.REPEAT)
    job = replace(job, order=replace(job.order, speak=speaker(language)))
    assert all(sheet(content.name, job) for content in contents(job))
