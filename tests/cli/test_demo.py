"""`panel demo --no-serve`: everything the evening makes, and the findings that must come out."""

import hashlib
import json
import tomllib
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from click.testing import CliRunner
from scipy import stats

from panel.cli import demo, panel
from panel.core.errors import Fault, PanelError
from tests.structure.checkout import ROOT

EXPECTED = ROOT / "demo_event" / "expected.json"


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("demo") / "evening"
    done = CliRunner().invoke(
        panel, ["demo", "--no-serve", "--out", str(out)], catch_exceptions=False
    )
    assert done.exit_code == 0, done.output
    return out


def counts(evening: Path) -> dict[str, dict[str, Any]]:
    """The groups' counts, as the expected file has them."""
    findings = json.loads((evening / "findings.json").read_text(encoding="utf-8"))["findings"]
    return {
        finding["group"]: {
            "tasters": finding["tasters"],
            "correct": finding["correct"],
            "verdict": finding["verdict"],
        }
        for finding in findings
    }


def test_the_findings_are_those_expected(evening: Path) -> None:
    assert counts(evening) == json.loads(EXPECTED.read_text(encoding="utf-8"))


def test_its_p_values_are_the_binomial_tails(evening: Path) -> None:
    findings = json.loads((evening / "findings.json").read_text(encoding="utf-8"))["findings"]
    for finding in findings:
        tail = stats.binom.sf(finding["correct"] - 1, finding["tasters"], 1 / 3)
        assert finding["p"] == pytest.approx(tail, rel=1e-9)


def test_every_sheet_is_its_own_pdf_and_codes_are_text(evening: Path) -> None:
    sheets = sorted((evening / "kit").iterdir())
    assert {path.suffix for path in sheets} == {".pdf"}
    cards = [path for path in sheets if "cards" in path.name]
    assert len(cards) == 4
    document = pypdfium2.PdfDocument(cards[0])
    text = document[0].get_textpage().get_text_bounded()
    document.close()
    assert sum(word.isdigit() and len(word) == 3 for word in text.split()) >= 12


def test_the_seal_is_the_sha_256_of_what_was_sealed(evening: Path) -> None:
    findings = json.loads((evening / "findings.json").read_text(encoding="utf-8"))
    digest = hashlib.sha256((evening / "result" / "sealed.json").read_bytes()).hexdigest()
    assert findings["seal"]["digest"] == digest


def test_a_folder_that_is_not_empty_is_refused(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    done = CliRunner().invoke(panel, ["demo", "--no-serve", "--out", str(tmp_path)])
    assert "is not empty" in str(done.exception)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_the_demonstration_asks_for_both_or_neither(tmp_path: Path) -> None:
    for line in (["--no-serve"], ["--out", str(tmp_path / "out")]):
        done = CliRunner().invoke(panel, ["demo", *line])
        assert done.exit_code == 2


def test_the_evening_is_installed_with_the_program() -> None:
    """What setuptools packs: the package of its name, with the file that is read."""
    words = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
    assert "demo_event" in words["setuptools"]["packages"]["find"]["include"]
    assert demo.EVENT.name in words["setuptools"]["package-data"]["demo_event"]
    assert (demo.EVENT.parent / "__init__.py").exists()


def test_an_evening_that_is_not_there_is_told_in_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(demo, "EVENT", tmp_path / "event.toml")
    with pytest.raises(PanelError, match="Install Panel again") as refusal:
        demo.invented_event()
    assert refusal.value.fault is Fault.PLACE
