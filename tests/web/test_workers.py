"""Several worker processes on one PostgreSQL: as one service to whoever asks it.

The command is the one of docs/hosting/panel.service. Each test has a service of its own, for rates
are counted for all that a machine serves.
"""

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

import pytest
from sqlalchemy import text

from panel import settings as settings_room
from panel.app import worker
from panel.core.errors import PanelError
from panel.services.workplace import Workplace, open_workplace
from panel.store import records
from panel.web import shared_counters
from tests.builders import answers, serving, token, trays
from tests.structure.checkout import ROOT

WORKERS = 2
STARTS_WITHIN = 60.0
COMMAND = (
    "--interface", "wsgi", "--factory", "--workers", str(WORKERS), "--blocking-threads", "4",
    "--workers-kill-timeout", "30",
)  # fmt: skip


@dataclass
class Hosted:
    """A service of two workers, its address, where its log lies."""

    process: subprocess.Popen[bytes]
    port: int
    log: Path
    at: Workplace

    def ask(
        self, method: str, path: str, cookie: str = "", fields: dict[str, str] | None = None
    ) -> tuple[int, http.client.HTTPMessage, str]:
        """One request on a connection of its own."""
        headers = {
            "Cookie": cookie,
            "Origin": f"http://127.0.0.1:{self.port}",
            "Content-Type": "application/x-www-form-urlencoded",
        }
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request(method, path, urlencode(fields) if fields else None, headers)
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read().decode()
        finally:
            connection.close()

    def form(self, path: str, cookie: str = "") -> tuple[str, str]:
        """The token of a page's form, and the cookie that goes with it."""
        status, headers, body = self.ask("GET", path, cookie)
        assert status == 200
        found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', body)
        own = re.search(r"panel=[^;]+", headers["Set-Cookie"] or "")
        assert found is not None
        assert own is not None
        return found[1], own[0]

    def lines(self) -> list[dict[str, object]]:
        """What the workers have logged so far; granian's own lines are no JSON."""
        lines = self.log.read_text(encoding="utf-8").splitlines()
        return [json.loads(line) for line in lines if line.startswith("{")]


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return int(taken.getsockname()[1])


@pytest.fixture
def hosted(postgresql_url: str, tmp_path: Path) -> Iterator[Hosted]:
    port = free_port()
    (tmp_path / "instance").mkdir()
    variables = {
        "PANEL_INSTANCE": str(tmp_path / "instance"),
        "PANEL_DATABASE_URL": postgresql_url,
        "PANEL_ADDRESS": f"http://127.0.0.1:{port}",
        "PANEL_LOG": "json",
    }
    kept = {name: word for name, word in os.environ.items() if not name.startswith("PANEL_")}
    # The schema and the key are there before the first worker starts, as the unit file has it.
    at = open_workplace(settings_room.load(variables))
    log = tmp_path / "log"
    with log.open("wb") as told:
        process = subprocess.Popen(
            [sys.executable, "-m", "granian", *COMMAND, "--port", str(port), "panel.app:worker"],
            cwd=ROOT, env={**kept, **variables}, stdout=told, stderr=subprocess.STDOUT,
            start_new_session=True,
        )  # fmt: skip
    service = Hosted(process, port, log, at)
    try:
        until_ready(service)
        yield service
    finally:
        at.units.close()
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)  # the workers too, which the one alone leaves
        process.wait(STARTS_WITHIN)


def until_ready(service: Hosted) -> None:
    """Until every worker has answered."""
    end = time.monotonic() + STARTS_WITHIN
    while time.monotonic() < end:
        try:
            assert service.ask("GET", "/readyz")[0] == 200
        except OSError:
            time.sleep(0.1)
            continue
        if len({line["process"] for line in service.lines()}) == WORKERS:
            return
    raise AssertionError(service.log.read_text(encoding="utf-8"))


def answered_by(service: Hosted, route: str) -> set[object]:
    """The processes that have answered on a route."""
    return {line["process"] for line in service.lines() if line.get("route") == route}


@pytest.mark.postgresql
def test_rates_and_locks_hold_across_workers(hosted: Hosted) -> None:
    """Guesses are counted together; the same ballot on both sides at once is one ballot."""
    at = hosted.at
    token_, own = hosted.form("/card")
    wrong = {"csrf_token": token_, "code": "ABCDEFGH"}
    statuses = [hosted.ask("POST", "/card", own, wrong)[0] for _ in range(101)]
    assert statuses == [404] * 100 + [429]
    assert len(answered_by(hosted, "door.short_code")) == WORKERS
    file = (at.settings.instance / shared_counters.FILE).read_bytes()
    assert b"127.0.0.1" not in file

    known = serving(at, starts=at.now())
    posted = []
    for tray in trays(at, known):
        _, headers, _ = hosted.ask("GET", f"/{token(at, known, tray)}")
        proof = re.search(r"panel-tray=[^;]+", headers["Set-Cookie"])
        assert proof is not None
        path = headers["Location"]
        token_, own = hosted.form(f"{path}?at=over", proof[0])
        fields = {"csrf_token": token_, "key": f"{tray.number:032}"}
        fields |= {f"answer-{name}": words[0] for name, words in answers(known, tray).items()}
        posted += [(f"{path}/send", f"{proof[0]}; {own}", fields)] * 4
    with ThreadPoolExecutor(8) as phones:
        sent = list(phones.map(lambda one: hosted.ask("POST", *one)[0], posted))
    assert set(sent) == {302}
    assert len(answered_by(hosted, "taster.send")) == WORKERS
    with at.units.read() as session:
        assert session.scalar(text("SELECT count(*) FROM ballot")) == len(trays(at, known))
        assert {records.verify(session, chain) for chain in records.chains(session)} == {None}


@pytest.mark.postgresql
def test_told_to_stop_they_finish_what_is_under_way(hosted: Hosted) -> None:
    """A password takes a while to work out; the answer comes although SIGTERM came first."""
    token_, own = hosted.form("/sign-in")
    asked = {"csrf_token": token_, "name": "Robin", "password": "heron lantern gravel spoon"}
    got: list[int] = []

    def sign_in() -> None:
        got.append(hosted.ask("POST", "/sign-in", own, asked)[0])

    asking = threading.Thread(target=sign_in)
    asking.start()
    wait_for_a_try(hosted.at)
    hosted.process.send_signal(signal.SIGTERM)
    asking.join(STARTS_WITHIN)
    assert got == [403]
    assert hosted.process.wait(STARTS_WITHIN) == 0
    with pytest.raises(ConnectionRefusedError):
        hosted.ask("GET", "/healthz")


def wait_for_a_try(at: Workplace) -> None:
    """Until the try is noted: from then on the password is being worked out."""
    end = time.monotonic() + STARTS_WITHIN
    while time.monotonic() < end:
        with at.units.read() as session:
            if session.scalar(text("SELECT count(*) FROM refused_signin")):
                return
    raise AssertionError("nobody tried")


def test_several_workers_are_refused_on_sqlite(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PANEL_INSTANCE", str(tmp_path))
    monkeypatch.delenv("PANEL_DATABASE_URL", raising=False)
    with pytest.raises(PanelError, match="need PostgreSQL"):
        worker()
    assert list(tmp_path.iterdir()) == []
