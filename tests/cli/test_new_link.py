"""`panel host --new-link`: one more organiser, or a new password, for whoever is at the machine."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from panel.cli import panel
from panel.core.errors import PanelError
from panel.core.record import INSTANCE
from panel.services import sign_in
from panel.services.workplace import Workplace, open_workplace
from panel.settings import load
from panel.store import records

WORD, OTHER = "heron lantern gravel spoon", "marble thistle anchor plum"


def printed(folder: Path) -> str:
    """The token of the link that the command prints."""
    done = CliRunner().invoke(panel, ["host", "--new-link", "--instance", str(folder)])
    assert done.exit_code == 0, done.output
    return done.output.strip().rpartition("/set-up/")[2]


def deeds(at: Workplace) -> list[str]:
    with at.units.read() as session:
        return [line.what for line in records.of_chain(session, INSTANCE)]


def test_it_makes_one_more_organiser_and_gives_a_known_one_a_new_password(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PANEL_DATABASE_URL", raising=False)
    at = open_workplace(load({}, tmp_path))  # as if the service ran meanwhile
    try:
        first = sign_in.set_up(at, str(sign_in.first_link(at)), "Robin", WORD)
        second = sign_in.set_up(at, printed(tmp_path), "Kim", OTHER)
        for token, name in ((first, "Robin"), (second, "Kim")):
            who = sign_in.person_of(at, token)
            assert who is not None
            who.require_organiser()
            assert who.name == name
        forgotten = printed(tmp_path)
        sign_in.set_up(at, forgotten, "robin", OTHER)
        assert sign_in.person_of(at, first) is None
        assert sign_in.person_of(at, second) is not None
        assert sign_in.sign_in(at, "Robin", OTHER)
        with pytest.raises(PanelError, match="used once"):
            sign_in.set_up(at, forgotten, "Third", WORD)
        assert deeds(at)[:6] == ["invited", "set-up"] * 3
    finally:
        at.units.close()
