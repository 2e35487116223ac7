"""docs/scanning.md quotes the thresholds and limits that the code has."""

from pathlib import Path

from panel.scanning import pages
from panel.scanning.apart import LIMITS
from panel.scanning.scanned_pdf import MOST_THINGS
from panel.scanning.thresholds import THRESHOLDS, Thresholds, reader_version, threshold_table

DOCS = Path(__file__).parents[2] / "docs" / "scanning.md"
BEGIN, END = "<!-- thresholds -->\n", "\n<!-- /thresholds -->"


def test_the_quoted_thresholds_are_current():
    text = DOCS.read_text(encoding="utf-8")
    quoted = text.partition(BEGIN)[2].partition(END)[0].strip()
    assert quoted == threshold_table(), (
        "put threshold_table() between the lines of docs/scanning.md"
    )


def test_every_threshold_is_quoted_with_its_value():
    table = threshold_table()
    for name, value in vars(Thresholds()).items():
        assert f"| `{name}` | {value:g} |" in table


def test_the_quoted_limits_are_current():
    text = " ".join(DOCS.read_text(encoding="utf-8").split())
    assert f"at most {pages.MOST_BYTES // 10**6} MB a file" in text
    assert f"{pages.MOST_PAGES} pages a file" in text
    assert f"{pages.MOST_PIXELS // 10**6} million pixels a page" in text
    assert f"more than {pages.ENOUGH_PIXELS // 10**6} million pixels" in text
    for what, most in (
        ("a file", f"{pages.MOST_BYTES // 10**6} MB, {pages.MOST_PAGES} pages"),
        ("a page, and each picture in it", f"{pages.MOST_PIXELS // 10**6} million pixels"),
        ("what one page of a PDF draws", f"{MOST_THINGS:,} things"),
        ("computing for one file", f"{LIMITS.computing} seconds"),
        ("memory for one file", f"{LIMITS.memory // 10**6:,} MB"),
    ):
        assert f"| {what} | {most} |" in text


def test_the_version_tells_readers_apart():
    assert reader_version().startswith("1-")
    assert len(reader_version()) == 10
    assert Thresholds() == THRESHOLDS
