"""The real service as a process of its own, on loopback, started and killed."""

import http.client
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

from tests.structure.checkout import ROOT

STARTS_WITHIN = 60.0
"""Seconds after which a start counts as hung; a guard, not a measurement."""

LEAVES_WITHIN = 10.0
"""Seconds within which what a service has started ends after it, however it went."""


class Service:
    """`panel host` on an instance folder, or another module that takes the same words.

    Once it has started: its `port`; after how many `seconds` it took ballots (readiness page); how
    many of them its first thread `waited` for a processor that others had (Linux, else 0).
    """

    def __init__(self, folder: Path, module: tuple[str, ...] = ("panel",), **env: str) -> None:
        begun = time.monotonic()
        words = [sys.executable, "-m", *module, "host", "--instance", str(folder), "--port", "0"]
        self.process = subprocess.Popen(
            words,
            cwd=ROOT,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env=_environment(env),
            start_new_session=True,
        )
        self.told: list[str] = []
        guard = threading.Timer(STARTS_WITHIN, self.process.kill)
        guard.start()
        try:
            self.port = self._port()
        finally:
            guard.cancel()
        self.listener = threading.Thread(target=self._listen, daemon=True)
        self.listener.start()
        status, said = self.ask("/readyz")
        self.seconds = time.monotonic() - begun
        self.waited = _waited(self.process.pid)
        if status != 200:
            raise AssertionError(f"the service has started and is not ready: {said}")

    def ask(self, path: str, cookie: str = "") -> tuple[int, str]:
        """Status and body of a page."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            connection.request("GET", path, headers={"Cookie": cookie} if cookie else {})
            answer = connection.getresponse()
            return answer.status, answer.read().decode()
        finally:
            connection.close()

    def ready_again(self, within: float) -> float:
        """Seconds until it takes ballots again, after something it needs was away; or until it
        should have."""
        begun = time.monotonic()
        while self.ask("/readyz")[0] != 200 and time.monotonic() < begun + within:
            time.sleep(0.05)
        return time.monotonic() - begun

    def kill(self, tree: bool = False) -> None:
        """SIGKILL: no word of farewell, nothing flushed. To this process, or to all it started."""
        if tree:
            os.killpg(self.process.pid, signal.SIGKILL)
        else:
            self.process.kill()
        self._gone()

    def stop(self) -> int:
        """SIGTERM; the exit status."""
        self.process.terminate()
        self._gone()
        return self.process.returncode

    def left_behind(self) -> list[str]:
        """What it had started and is still there although it had time to end (Linux, else [])."""
        until = time.monotonic() + LEAVES_WITHIN
        while (left := _of_group(self.process.pid)) and time.monotonic() < until:
            time.sleep(0.05)
        return left

    def _gone(self) -> None:
        self.process.wait(STARTS_WITHIN)
        self.listener.join(LEAVES_WITHIN)  # whoever it has started has the pipe as well

    def _port(self) -> int:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.told.append(line)
            if line.startswith("Panel is ready at "):
                return int(line.rsplit(":", 1)[1])
        self.process.wait(STARTS_WITHIN)
        self.process.stdout.close()
        raise AssertionError(f"the service did not start: {' '.join(self.told)}")

    def _listen(self) -> None:
        """A pipe that nobody reads would stop it in the end; and what it says may be wanted."""
        assert self.process.stdout is not None
        with self.process.stdout as lines:
            self.told += lines


def _environment(variables: dict[str, str]) -> dict[str, str]:
    kept = {name: word for name, word in os.environ.items() if not name.startswith("PANEL_")}
    return {**kept, "PYTHONUNBUFFERED": "1", **variables}


def _waited(process: int) -> float:
    """Second figure of /proc/…/schedstat: nanoseconds on the queue (kernel documentation)."""
    try:
        return int(Path(f"/proc/{process}/schedstat").read_text().split()[1]) / 1e9
    except (OSError, IndexError):
        return 0.0


def _of_group(group: int) -> list[str]:
    """The living processes of a group: name and state stand before it in /proc/…/stat."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            name, _, rest = path.read_text().rpartition(")")
        except OSError:
            continue
        state, _parent, of = rest.split()[:3]
        if int(of) == group and state != "Z":
            found.append(f"{name}), state {state}")
    return found
