"""docs/hosting.md and its files say what the program and its tests do."""

import configparser
import re
import shlex
import subprocess
from pathlib import Path
from shutil import which

import pytest

from panel import app as room
from panel.app import LARGEST_REQUEST, MEGABYTE
from panel.scanning.apart import LIMITS
from panel.settings import load
from tests.docs.pages import ROOT, text
from tests.web import test_workers

FOLDER = ROOT / "docs" / "hosting"
UNITS = sorted(path.name for path in FOLDER.iterdir() if path.suffix in (".service", ".timer"))


def unit(name: str) -> dict[str, dict[str, str]]:
    """A unit file's sections; lines that go on are joined."""
    parser = configparser.RawConfigParser(strict=False)
    parser.optionxform = str  # type: ignore[assignment]
    parser.read_string((FOLDER / name).read_text(encoding="utf-8").replace("\\\n", " "))
    return {section: dict(parser[section]) for section in parser.sections()}


def settings() -> dict[str, str]:
    lines = (FOLDER / "environment").read_text(encoding="utf-8").splitlines()
    return dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))


def test_every_file_is_named_on_the_page() -> None:
    page = text("docs/hosting.md")
    assert [path.name for path in FOLDER.iterdir() if f"(hosting/{path.name})" not in page] == []


def test_the_workers_are_started_as_they_are_tested() -> None:
    words = shlex.split(unit("panel.service")["Service"]["ExecStart"])
    assert words[0].endswith("/granian")
    given = " ".join(words)
    for part in ("--workers-kill-timeout 30", "--interface wsgi", "--factory", "--workers 2"):
        assert part in given
        assert part in " ".join(test_workers.COMMAND)
    assert words[-1] == "panel.app:worker"
    assert callable(room.worker)
    assert "--host 127.0.0.1" in given
    container = (FOLDER / "Containerfile").read_text(encoding="utf-8")
    inside = given.split("--interface")[1].replace("127.0.0.1", "0.0.0.0")
    assert " ".join(inside.split()) in container


def test_the_settings_are_settings(tmp_path: Path) -> None:
    given = settings()
    made = load({**given, "PANEL_INSTANCE": str(tmp_path)})
    assert made.address.startswith("https://")
    assert made.proxies == 1
    assert made.log == "json"
    assert given["PANEL_INSTANCE"] == "/var/lib/panel"  # what StateDirectory=panel makes
    assert unit("panel.service")["Service"]["StateDirectory"] == "panel"


def test_the_proxy_lets_through_what_the_service_takes_and_no_more() -> None:
    words = (FOLDER / "nginx.conf").read_text(encoding="utf-8")
    limit = re.search(r"client_max_body_size (\d+)m;", words)
    assert limit is not None
    assert int(limit[1]) * MEGABYTE == LARGEST_REQUEST
    # Written over, never appended to: "$proxy_add_x_forwarded_for" would pass a visitor's word on.
    for name, value in (("For", "$remote_addr"), ("Proto", "$scheme"), ("Host", "$host")):
        assert f"proxy_set_header X-Forwarded-{name} {value};" in words
    assert "proxy_add_x_forwarded_for" not in words
    assert "ssl_protocols TLSv1.2 TLSv1.3;" in words
    assert "access_log off;" in words
    assert words.count("{") == words.count("}")


def test_it_stops_later_than_its_workers() -> None:
    service = unit("panel.service")["Service"]
    patience = re.search(r"--workers-kill-timeout (\d+)", service["ExecStart"])
    assert patience is not None
    assert int(service["TimeoutStopSec"]) > int(patience[1])


@pytest.mark.skipif(which("systemd-analyze") is None, reason="no systemd-analyze on this machine")
def test_a_reader_that_runs_out_of_memory_takes_nobody_with_it() -> None:
    """The most that the unit may have is less than the most of one reader of pictures, and what
    systemd does by itself is to stop all of it (systemd.service(5), OOMPolicy=)."""
    service = unit("panel.service")["Service"]
    assert service["MemoryMax"] == "1G"
    assert LIMITS.memory > 1 << 30
    assert service["OOMPolicy"] == "continue"


def test_systemd_reads_the_units(tmp_path: Path) -> None:
    """Every line is known to it; programs stand in for those that are not installed here."""
    for name in UNITS:
        words = (FOLDER / name).read_text(encoding="utf-8")
        there = re.sub(r"/opt/panel/bin/\w+", "/bin/true", words)
        (tmp_path / name).write_text(there, encoding="utf-8")
    told = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", *(str(tmp_path / name) for name in UNITS)],
        capture_output=True,
        text=True,
        check=False,
    )
    ours = [line for line in told.stderr.splitlines() if "panel" in line]
    assert [line for line in ours if "not found" not in line and "not-found" not in line] == []


def test_the_workers_may_reach_this_machine_alone() -> None:
    for name in UNITS:
        service = unit(name).get("Service")
        if service is not None:
            assert (service["IPAddressDeny"], service["IPAddressAllow"]) == ("any", "localhost")


def test_the_container_holds_no_history() -> None:
    """Neither .git nor tests, nor anybody's instance: what is copied is named."""
    lines = (FOLDER / "Containerfile").read_text(encoding="utf-8").splitlines()
    copied = {word for line in lines if line.startswith("COPY") for word in line.split()[1:-1]}
    known = {"pyproject.toml", "README.md", "LICENSE", "panel", "demo_event"}
    assert copied == known | {"--from=built", "/opt/panel"}
    assert "USER panel" in lines
