"""The real service as a process of its own, on loopback, started and killed."""

import http.client
import os
import subprocess
import sys
import threading
import time
from pathlib import Path

from tests.structure.checkout import ROOT

STARTS_WITHIN = 60.0
"""Seconds after which a start counts as hung; a guard, not a measurement."""


class Service:
    """`panel host` on an instance folder; once it has started, its `port` and after how many
    `seconds` it was ready."""

    def __init__(self, folder: Path, **variables: str) -> None:
        begun = time.monotonic()
        words = [sys.executable, "-m", "panel", "host", "--instance", str(folder), "--port", "0"]
        self.process = subprocess.Popen(
            words,
            cwd=ROOT,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env=_environment(variables),
        )
        self.told: list[str] = []
        guard = threading.Timer(STARTS_WITHIN, self.process.kill)
        guard.start()
        try:
            self.port = self._port()
        finally:
            guard.cancel()
        self.seconds = time.monotonic() - begun

    def ask(self, path: str) -> tuple[int, str]:
        """Status and body of a page."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            connection.request("GET", path)
            answer = connection.getresponse()
            return answer.status, answer.read().decode()
        finally:
            connection.close()

    def kill(self) -> None:
        """SIGKILL: no word of farewell, nothing flushed."""
        self.process.kill()
        self._gone()

    def stop(self) -> int:
        """SIGTERM; the exit status."""
        self.process.terminate()
        self._gone()
        return self.process.returncode

    def _gone(self) -> None:
        self.process.wait(STARTS_WITHIN)
        if self.process.stdout is not None:
            self.process.stdout.close()

    def _port(self) -> int:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.told.append(line)
            if line.startswith("Panel is ready at "):
                return int(line.rsplit(":", 1)[1])
        self._gone()
        raise AssertionError(f"the service did not start: {' '.join(self.told)}")


def _environment(variables: dict[str, str]) -> dict[str, str]:
    kept = {name: word for name, word in os.environ.items() if not name.startswith("PANEL_")}
    return {**kept, "PYTHONUNBUFFERED": "1", **variables}
