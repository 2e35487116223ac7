"""How long a pile of sixty cards takes a script that needs no time to look, and how many keys.

    python -m tests.bench.review

One real browser, pictures as large as real ones, first without delay and then over a line like a
pub's wifi (50 ms each way, 10 Mbit/s). A person's own looking comes on top.
"""

import shutil
import statistics
import sys
import tempfile
import threading
import time
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
from cheroot.wsgi import Server
from PIL import Image
from playwright.sync_api import Page, sync_playwright

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.names import Role
from panel.services import invite
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Workplace
from panel.store import readings
from tests.builders import ORGANISER, Clock, serving, trays
from tests.conftest import CHROMIUM_FLAGS, CHROMIUM_NAMES
from tests.readings import waiting_reading

CARDS = 60
WIFI = {"offline": False, "latency": 50, "downloadThroughput": 1.25e6, "uploadThroughput": 1.25e6}
KEYS = ("2", "Enter")


def real_picture(at: Workplace, comparison: str, number: int, seed: int) -> None:
    """A grey JPEG of about 50 KB in the place of the small one."""
    grain = np.random.default_rng(seed).normal(225, 9, (1480, 1050)).clip(0, 255)
    out = BytesIO()
    Image.fromarray(grain.astype(np.uint8)).resize((700, 987)).save(out, "JPEG", quality=55)
    with at.units.begin() as session:
        kept = readings.load(session, comparison, number)
        assert kept is not None
        read = replace(kept.read, picture=out.getvalue())
        readings.add(session, comparison, replace(kept, read=read))


def pile(at: Workplace) -> tuple[str, str, list[int]]:
    """A sitting with a pile of cards that wait: its comparison, its id, their numbers."""
    known = serving(at, planned=CARDS)
    for tray in trays(at, known)[:CARDS]:
        real_picture(at, known.id, waiting_reading(at, known, tray), tray.number)
    sitting = known.sittings[0].id
    return known.id, sitting, list(range(2, 2 * CARDS + 1, 2))


def gone_through(page: Page, root: str, numbers: list[int]) -> list[float]:
    """Milliseconds from the first key of a card until the next card stands there."""
    page.goto(f"{root}/{numbers[0]}")
    took = []
    for number in numbers[1:]:
        page.wait_for_selector("[data-ahead=there]")  # somebody looks meanwhile
        begun = time.perf_counter()
        for key in KEYS:
            page.keyboard.press(key)
        page.wait_for_selector(f"[data-review='{number}']")
        took.append((time.perf_counter() - begun) * 1000)
    return took


def measured(line: dict[str, object] | None) -> list[float]:
    """One pile, over a line."""
    program = next(filter(None, map(shutil.which, CHROMIUM_NAMES)))
    with tempfile.TemporaryDirectory() as folder:
        environment = {"PANEL_DATABASE_URL": f"sqlite:///{folder}/panel.db"}
        app = create_app(
            settings_room.load(environment, Path(folder)),
            now=Clock(),
            entropy=seeded_entropy("review"),
        )
        at = workplace_of(app)
        comparison, sitting, numbers = pile(at)
        server = Server(("127.0.0.1", 0), app, numthreads=4)
        server.prepare()
        running = threading.Thread(target=server.serve)
        running.start()
        base = f"http://127.0.0.1:{server.bind_addr[1]}"
        try:
            with sync_playwright() as play:
                browser = play.chromium.launch(executable_path=program, args=list(CHROMIUM_FLAGS))
                page = browser.new_page()
                link = invite.invite(at, ORGANISER, comparison, sitting, Role.STEWARD)
                page.goto(f"{base}/in/{link}")
                page.click("button:has-text('Open it on this phone')")
                if line is not None:
                    wire = page.context.new_cdp_session(page)
                    wire.send("Network.enable")
                    wire.send("Network.emulateNetworkConditions", line)
                root = f"{base}/steward/{comparison}/{sitting}/review"
                took = gone_through(page, root, numbers)
                browser.close()
        finally:
            server.stop()
            running.join()
            close(app)
    return took


def main() -> None:
    """Prints both."""
    for name, line in (("on the machine itself", None), ("over a line like a pub's wifi", WIFI)):
        took = sorted(measured(line))
        middle, most = statistics.median(took), took[int(0.95 * len(took))]
        sys.stdout.write(
            f"{name}: {len(took) + 1} cards, {len(KEYS)} keys each, median {middle:.0f} ms, "
            f"95 in 100 below {most:.0f} ms\n"
        )


if __name__ == "__main__":
    main()
