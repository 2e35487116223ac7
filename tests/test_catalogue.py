"""What the core says in a language, with numbers and moments as that language writes them.

How locales write numbers and dates: Unicode Common Locale Data Repository, by the library Babel.
"""

import io
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from panel import catalogue
from panel.core.message import Day, Message, Moment, Number, PValue, Share, say, say_n
from tests.structure.checkout import ROOT, text_of


@pytest.fixture(autouse=True)
def _no_speaker_is_kept() -> None:
    catalogue.speaker.cache_clear()


@pytest.mark.parametrize(
    ("message", "words"),
    [
        (say("Seal it"), "Seal it"),
        (say("%(a)s of %(b)s", a=3, b="six"), "3 of six"),
        (say("100 % of it"), "100 % of it"),
        (say_n("One cup.", "%(count)s cups.", 1), "One cup."),
        (say_n("One cup.", "%(count)s cups.", 4), "4 cups."),
        (say("%(s)s", s=Share(0.475)), "48%"),
        (say("%(s)s", s=Share(0.475, 1)), "47.5%"),
        (say("%(p)s", p=PValue(0.0421)), "0.042"),
        (say("%(p)s", p=PValue(0.0000421)), "less than 0.001"),
        (say("%(n)s", n=Number(1234.56, 1)), "1,234.6"),
        (say("%(n)s", n=Number(30.0, 0)), "30"),
        (say("Card %(n)s", n=1017), "Card 1017"),
        (say("You %(did)s.", did=say("found it")), "You found it."),
    ],
)
def test_english(message: Message, words: str) -> None:
    assert catalogue.speaker("en")(message) == words


def test_a_moment_is_told_in_the_zone_of_the_people() -> None:
    summer = Moment(datetime(2027, 7, 14, 18, 30, tzinfo=UTC), "Europe/London")
    assert catalogue.speaker("en")(say("%(m)s", m=summer)) == "14 July 2027, 19:30"


@pytest.fixture
def german(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of catalogues with a little German in it."""
    words = tmp_path / "de/LC_MESSAGES/messages.po"
    words.parent.mkdir(parents=True)
    words.write_text(
        'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n'
        'Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
        'msgid "Seal it"\nmsgstr "Versiegeln"\n\n'
        'msgid "One cup."\nmsgid_plural "%(count)s cups."\n'
        'msgstr[0] "Ein Becher."\nmsgstr[1] "%(count)s Becher."\n\n'
        'msgid "less than %(limit)s"\nmsgstr "unter %(limit)s"\n',
        encoding="utf-8",
    )
    babel(tmp_path, "compile", "-d", str(tmp_path))
    monkeypatch.setattr(catalogue, "FOLDER", tmp_path)
    return tmp_path


def babel(folder: Path, *arguments: str) -> None:
    command = [sys.executable, "-m", "babel.messages.frontend", *arguments]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    assert folder.exists()


@pytest.mark.usefixtures("german")
def test_another_language_is_one_folder() -> None:
    assert catalogue.languages() == ("en", "de")
    speak = catalogue.speaker("de")
    assert speak(say("Seal it")) == "Versiegeln"
    assert speak(say_n("One cup.", "%(count)s cups.", 1)) == "Ein Becher."
    assert speak(say_n("One cup.", "%(count)s cups.", 5)) == "5 Becher."
    assert speak(say("%(n)s", n=Number(1234.56, 1))) == "1.234,6"
    assert speak(say("%(p)s", p=PValue(0.0001))) == "unter 0,001"
    assert speak(say("%(s)s", s=Share(0.5))) == "50\N{NO-BREAK SPACE}%"
    assert speak(say("Not translated yet")) == "Not translated yet"


def test_a_language_nobody_wrote_is_spoken_in_english() -> None:
    assert catalogue.speaker("xx")(say("Seal it")) == "Seal it"


def test_the_documented_command_gathers_what_core_and_pages_say(tmp_path: Path) -> None:
    written = tmp_path / "messages.pot"
    command = " ".join(text_of("panel/catalogue.py").split("pybabel extract ")[1].splitlines()[:2])
    arguments = command.replace("\\", "").split()
    arguments[arguments.index("-o") + 1] = str(written)
    babel(tmp_path, "extract", *arguments)
    found = read_po(io.BytesIO(written.read_bytes()))
    for sentence in (
        "Which cup is different?",  # core, say
        ("Choose exactly one cup.", "Choose exactly %(count)s cups."),  # core, say_n
        "Send my ballot",  # a page
        ("%(num)d ballot is in.", "%(num)d ballots are in."),  # a page, counted
    ):
        name = sentence if isinstance(sentence, str) else sentence[0]
        entry = found.get(name)
        assert entry is not None, name
        assert entry.id == sentence


def test_a_date_has_its_language_s_points_and_order() -> None:
    moment = Moment(datetime(2027, 3, 14, 18, 30, tzinfo=UTC), "UTC")
    words = say("%(moment)s", moment=moment), say("%(day)s", day=Day(moment.utc, "UTC"))
    said = [[catalogue.speaker(one)(word) for word in words] for one in ("en", "de")]
    assert said[0] == ["14 March 2027, 18:30", "Sunday 14 March 2027"]
    assert said[1] == ["14. März 2027, 18:30", "Sonntag, 14. März 2027"]
