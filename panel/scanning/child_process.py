"""The processes that read files: started when they are needed, and used again while they behave.

Starting one takes as long as reading thirty cards, so one that has ended well waits a minute for
the next file. It ends by itself when nobody needs it, and with the service.
"""

import atexit
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator

MODULE = "panel.scanning.child"
MOST_FILES = 40
"""Files after which a process is replaced: what libraries leave behind does not pile up."""
STILL_THERE = 50
"""Seconds for which a resting one is sure not to end by itself."""
SIGXCPU = 24
"""On every POSIX system that has it; named here because Windows does not."""


class Child:
    """One such process. Whoever has it uses it alone."""

    def __init__(self) -> None:
        # Nothing of the service's own settings, among which a database's password may be.
        kept = {key: word for key, word in os.environ.items() if not key.startswith("PANEL_")}
        alone = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
        path = os.pathsep.join(part for part in sys.path if part)
        self.process = subprocess.Popen(
            [sys.executable, "-m", MODULE],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**kept, **alone, "PYTHONPATH": path},
        )
        self.files = 0
        self.timer: threading.Timer | None = None
        self.waited = False
        self.rested = 0.0

    @property
    def too_slow(self) -> bool:
        """Whether it was ended because it took too long; asked once it says nothing more."""
        return self.waited or self.process.wait() == -SIGXCPU

    def send(self, words: bytes) -> None:
        """Something to read. Where it has ended, its lines end too: they say why."""
        pipe = self.process.stdin
        assert pipe is not None
        try:
            pipe.write(words)
            pipe.flush()
        except OSError:
            return

    def lines(self, waiting: float) -> Iterator[bytes]:
        """What it says, line by line; it is ended if it says nothing for so many seconds."""
        pipe = self.process.stdout
        assert pipe is not None
        while True:
            self.timer = threading.Timer(waiting, self._out_of_time)
            self.timer.daemon = True
            self.timer.start()
            try:
                line = pipe.readline()
            finally:
                self.timer.cancel()
            if not line:
                return
            yield line

    def _out_of_time(self) -> None:
        self.waited = True
        self.process.kill()

    def rest(self) -> None:
        """Let it wait for another file."""
        self.files += 1
        if self.files >= MOST_FILES:
            self.end()
            return
        self.rested = time.monotonic()
        with _LOCK:
            _RESTING.append(self)

    def end(self) -> None:
        """End it, and everything it holds."""
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            assert pipe is not None
            try:
                pipe.close()
            except OSError:
                continue  # what could not be sent any more


_RESTING: list[Child] = []
_LOCK = threading.Lock()


def child_at_hand() -> Child:
    """A process that waits for a file: one that did well before, or a new one."""
    while True:
        with _LOCK:
            child = _RESTING.pop() if _RESTING else None
        if child is None:
            return Child()
        if child.process.poll() is None and time.monotonic() - child.rested < STILL_THERE:
            return child
        child.end()


def end_resting() -> None:
    """End those that nobody uses."""
    while True:
        with _LOCK:
            child = _RESTING.pop() if _RESTING else None
        if child is None:
            return
        child.end()


atexit.register(end_resting)
