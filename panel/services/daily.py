"""What the running service does by itself: at its start, and then every day."""

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

DAY = 24 * 60 * 60.0

log = logging.getLogger("panel.daily")


@contextmanager
def every_day(duty: Callable[[], object], seconds: float = DAY) -> Iterator[None]:
    """While the block runs, a thread of its own does the duty at once and again after that many
    seconds. What fails is logged and tried again a day later; the service goes on."""
    stop = threading.Event()

    def work() -> None:
        while True:
            try:
                duty()
            except Exception:
                log.exception("what is done every day failed")
            if stop.wait(seconds):
                return

    worker = threading.Thread(target=work, name="daily")
    worker.start()
    try:
        yield
    finally:
        stop.set()
        worker.join()
