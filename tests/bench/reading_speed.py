"""Speed by hand: python -m tests.bench.reading_speed. The whole reader against its own floor.

On a scanned PDF of four cards a page at 200 dpi: seconds of one core for the whole reading of a
page, as a ratio to drawing the page and finding its QR codes and nothing else; and what somebody
waits for, where the service reads the file apart with as many processes as it may. With --pages
1000: the memory that is held after so many pages.
"""

import argparse
import os
import sys
from collections.abc import Callable
from functools import partial
from io import BytesIO
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image

from panel.scanning import CardReading, child_process, pages_of, read_file, read_page
from tests.scanning.corpus.axes import scan as scanned
from tests.scanning.corpus.ballots import Taster, filled
from tests.scanning.corpus.cards import CASES, PER_MM, printed, printed_pages
from tests.scanning.corpus.damage import damaged
from tests.scanning.corpus.hands import draw

PAGES = 12
CASE = CASES["triangle on a6"]


def scan() -> bytes:
    """Sheets of four marked cards, scanned into one PDF."""
    cards = printed(CASE, 4)
    sheets = []
    for number in range(PAGES):
        rng = np.random.default_rng(number)
        sheet = printed_pages(CASE, 4)[0].copy()
        for place, card in enumerate(cards):
            down, right = divmod(place, 2)
            part = sheet[round(down * 148.5 * PER_MM) :, round(right * 105 * PER_MM) :]
            for index, (hand, pen) in filled(card.known, rng, Taster.TOLD).hands.items():
                draw(part, rng, card.known.layout.places[index], hand, pen)
        sheets.append(Image.fromarray(damaged(sheet, rng, scanned(rng))))
    held = BytesIO()
    sheets[0].save(held, "PDF", resolution=200, save_all=True, append_images=sheets[1:])
    return held.getvalue()


def floor(data: bytes) -> int:
    """Draw each page and find its codes."""
    document = pypdfium2.PdfDocument(data)
    found = 0
    for page in document:
        picture = page.render(scale=200 / 72, grayscale=True).to_numpy()
        picture = np.ascontiguousarray(picture.reshape(picture.shape[:2]))
        found += len(zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode))
    document.close()
    return found


def in_process(data: bytes) -> list[CardReading]:
    """Read all of it here, on one core."""
    known = {card.text: card.known for card in printed(CASE, 4)}
    return [one for page in pages_of(data) for one in read_page(page.picture, known.get)]


def apart(data: bytes) -> int:
    """Read all of it as the service does: in processes with limits, pages shared between them, the
    kept pictures made and handed over; cards found."""
    known = {card.text: (card.known,) for card in printed(CASE, 4)}
    return sum(len(page.cards) for page in read_file(data, lambda text: known[text]))


def best_of(rounds: int, clock: Callable[[], float], work: Callable[[], object]) -> float:
    """Milliseconds a page."""
    took = []
    for _ in range(rounds):
        begun = clock()
        work()
        took.append(clock() - begun)
    return 1000 * min(took) / PAGES


def speed(data: bytes) -> None:
    """The least of five rounds of everything, in turn."""
    assert floor(data) == len(in_process(data)) == apart(data) == 4 * PAGES
    assert all(one.settled for one in in_process(data))
    least = dict.fromkeys(("floor", "reader", "floor, waiting", "service, waiting"), float("inf"))
    for _ in range(5):
        for name, clock, work in (
            ("floor", process_time, floor),
            ("reader", process_time, in_process),
            ("floor, waiting", perf_counter, floor),
            ("service, waiting", perf_counter, apart),
        ):
            least[name] = min(least[name], best_of(1, clock, partial(work, data)))
    one = least["reader"] / least["floor"]
    both = least["service, waiting"] / least["floor, waiting"]
    print({name: round(value, 1) for name, value in least.items()}, "ms a page")  # noqa: T201
    print(f"one core {one:.2f}, as the service waits for it {both:.2f}")  # noqa: T201


def memory(data: bytes, pages: int) -> None:
    """What this process and those that read hold, after 100 pages and at the end."""
    read = 0
    for read in range(PAGES, pages + PAGES, PAGES):
        apart(data)
        if read - PAGES < 100 <= read or read >= pages:
            held = [f"{resident(one.process.pid):.0f}" for one in child_process._RESTING]
            print(f"{read} pages: {resident(os.getpid()):.0f} MiB here, {held} MiB there")  # noqa: T201


def resident(process: int) -> float:
    """MiB of memory that a process holds."""
    words = Path(f"/proc/{process}/statm").read_text(encoding="ascii").split()
    return int(words[1]) * os.sysconf("SC_PAGE_SIZE") / 2**20


def main() -> None:
    """Print the ratios; with --pages N the memory over N pages."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pages", type=int, default=0)
    asked = parser.parse_args()
    if os.environ.get("OMP_NUM_THREADS") != "1":  # threads that wait for one another count as work
        again = [sys.executable, "-m", "tests.bench.reading_speed", *sys.argv[1:]]
        os.execve(sys.executable, again, {**os.environ, "OMP_NUM_THREADS": "1"})
    data = scan()
    if asked.pages:
        memory(data, asked.pages)
    else:
        speed(data)


if __name__ == "__main__":
    main()
