"""Speed by hand: python -m tests.bench.reading_speed. The whole reader against its own floor.

On a scanned PDF of four cards a page at 200 dpi: seconds of one core for the whole reading of a
page, as a ratio to drawing the page and finding its QR codes and nothing else.
"""

from io import BytesIO
from time import process_time

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image

from panel.scanning import pages_of, read_page
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


def main() -> None:
    """Three rounds, the best of each."""
    data = scan()
    known = {card.text: card.known for card in printed(CASE, 4)}
    times: dict[str, list[float]] = {"floor": [], "reader": []}
    for _ in range(3):
        begun = process_time()
        codes = floor(data)
        times["floor"].append(process_time() - begun)
        begun = process_time()
        read = [one for page in pages_of(data) for one in read_page(page.picture, known.get)]
        times["reader"].append(process_time() - begun)
        assert codes == len(read) == 4 * PAGES
        assert all(one.settled for one in read)
    best = {name: min(ones) / PAGES * 1000 for name, ones in times.items()}
    print(best, "ms a page; ratio", best["reader"] / best["floor"])  # noqa: T201


if __name__ == "__main__":
    main()
