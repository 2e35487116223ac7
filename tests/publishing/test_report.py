"""The report: what a report must hold is on it, in words, marked as a draft until it is published.

The list of what it must hold follows the test reports of ISO 4120, ISO 5495 and ISO 10399 (seen at
second hand) and CONSORT 2025 (items 10, 17 to 22).
"""

import re
from collections import Counter
from dataclasses import replace
from functools import cache
from io import BytesIO

import pypdfium2
import pytest
from pypdf import PdfReader

from panel.core.amendment import Amendment
from panel.core.comparison import Comparison
from panel.core.drawing import Ink
from panel.core.findings import Verdict
from panel.core.names import Information, Paper
from panel.core.plan import Plan
from panel.core.result import Result
from panel.core.svg import COLOURS
from panel.core.wording import rows_for_all, rows_for_statisticians, say_finding
from panel.publishing.figures import finding_chart, flow_chart, guessing_chart
from panel.publishing.report import report_pdf
from panel.publishing.report.edition import Edition
from panel.publishing.report.sections import SECTIONS
from tests.publishing.opened import SECRET, opened, result
from tests.results import BEERS, NOON, comparison, evening, right_and_wrong, sitting, two_tables

ADDRESS = "results.example/abcdefghijklmnop"
CHANGE = Amendment(number=1, made=NOON, what="A larger room.", reason="More people came.")


def edition(known: Comparison, **changes: object) -> Edition:
    whole = Edition(
        link=f"https://{ADDRESS}/", software="panel 9.9",
        published=known.published, seal_holds=True,
    )  # fmt: skip
    return replace(whole, **changes)


@cache
def made(draft: bool = False) -> tuple[Comparison, Result, bytes]:
    """Two tables, three told, a change after sealing."""
    known, _ = opened(two_tables(told=3))
    found = result(known, CHANGE)
    made_by = edition(known.comparison, **({"published": None} if draft else {}))
    return known.comparison, found, report_pdf(found, known.comparison, made_by)


def pages_of(pdf: bytes) -> list[str]:
    """The text of each page in one line, as pdfium reads it."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [plain(page.get_textpage().get_text_bounded()) for page in document]
    finally:
        document.close()


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_the_first_page_says_it_for_a_noticeboard():
    known, found, pdf = made()
    first = pages_of(pdf)[0]
    assert known.title in first
    assert found.main is not None
    said = say_finding(found.main, known)
    for sentence in (*said.lead, *said.then):
        assert str(sentence) in first
    assert "9 of 12 tasters who knew what was changed found the odd cup." in first
    for caution in found.cautions:
        assert str(caution.title) in first
    assert ADDRESS in first
    assert found.seal is not None
    assert found.seal.digest[:4] in first
    assert "exact p-value 0.055" in first  # the difference, never the two verdicts alone


def test_what_a_report_must_hold_is_on_it():
    known, found, pdf = made()
    text = " ".join(pages_of(pdf)[1:])
    for words in (
        known.title, known.variable, BEERS[0].name, BEERS[1].value, "Triangle test",
        "modelled on ISO 4120", "Alder Quay Fermenters", "dark cups", "8 °C", "50 ml",
        "The back room", "A larger room.", "More people came.", known.sittings[1].told,
        "Nothing is corrected for more than one comparison", "panel 9.9",
    ):  # fmt: skip
        assert words.lower() in text.lower(), words
    for finding in found.findings:
        said = say_finding(finding, known)
        few = () if finding.verdict is Verdict.COUNT_ONLY else rows_for_all(finding, known)
        rows = (*few, *rows_for_statisticians(finding, known))
        for sentence in (*said.lead, *said.then, *(row.value for row in rows)):
            assert str(sentence).lower() in text.lower()
    for caution in found.cautions:
        assert str(caution.text) in text
    assert f"Ballots counted {found.flow.counted}" in text
    assert f"Trays handed out {found.flow.handed_out}" in text


def test_the_drawings_are_those_of_the_page():
    """Every word that a chart of the page has stands in the report."""
    known, found, pdf = made()
    text = " ".join(pages_of(pdf)[1:])
    figures = [finding_chart(one, known, str) for one in found.findings]
    assert found.main is not None
    figures += [guessing_chart(found.main, known, str), flow_chart(found, str)]
    words = [
        shape.text
        for figure in figures
        if figure is not None
        for shape in figure.drawing.shapes
        if hasattr(shape, "text")
    ]
    assert len(words) > 30
    count = Counter(text.split())
    for word, many in Counter(" ".join(words).split()).items():
        assert count[word] >= many, word


def test_what_nobody_wrote_down_is_said_to_be_not_recorded():
    plan = Plan(method="triangle", tasters=12)
    bare = comparison(plan, replace(sitting("blue"), place=""))
    bare = replace(bare, organised_by="", serving=replace(bare.serving, temperature=None,
                                                          vessel="", allergens=()))  # fmt: skip
    known, _ = opened(evening(bare, right_and_wrong("blue", 6, 12)))
    text = " ".join(
        pages_of(report_pdf(result(known), known.comparison, edition(known.comparison)))
    )
    for label in ("In charge", "Batch, packaging date, age", "Allergens", "Temperature", "Cups",
                  "How they were chosen", "Their experience", "Between cups"):  # fmt: skip
        assert re.search(rf"{label}\b[^.]{{0,40}}?Not recorded", text), label
    full = " ".join(pages_of(made()[2]))
    assert full.count("Not recorded") < text.count("Not recorded")


def test_a_draft_says_so_on_every_page_and_a_published_one_on_none():
    for draft in (True, False):
        *_, pdf = made(draft)
        for page in pages_of(pdf):
            assert ("NOT PUBLISHED" in page) is draft
            assert ("Draft, not published: for organisers only" in page) is draft


def test_no_page_tells_which_cup_held_what():
    """Neither the secret nor any tray's codes."""
    known, _ = opened(two_tables(told=3))
    *_, pdf = made(draft=True)
    text = " ".join(pages_of(pdf))
    assert SECRET.hex() not in text
    for tray in known.trays:
        assert " ".join(tray.codes()) not in text


def test_the_same_data_give_the_same_bytes():
    known, found, pdf = made()
    assert report_pdf(found, known, edition(known)) == pdf
    other = report_pdf(found, known, edition(known, software="panel 9.10"))
    assert other != pdf


@pytest.mark.parametrize(("paper", "size"), [(Paper.A4, (595, 842)), (Paper.LETTER, (612, 792))])
def test_it_is_on_the_comparison_s_paper(paper: Paper, size: tuple[int, int]):
    known, found, _ = made()
    reader = PdfReader(BytesIO(report_pdf(found, known, edition(known, paper=paper))))
    assert {(round(p.mediabox.width), round(p.mediabox.height)) for p in reader.pages} == {size}


def test_it_can_be_read_aloud():
    """Title, language, bookmarks, and a tree of tags whose marks are painted (ISO 32000-1)."""
    known, _, pdf = made()
    reader = PdfReader(BytesIO(pdf))
    root = reader.trailer["/Root"]
    assert reader.metadata is not None
    assert reader.metadata.title == known.title
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  (pypdf has a class of its own)
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    listed = [entry.title for entry in reader.outline if not isinstance(entry, list)]
    assert listed[1:] == [str(name) for name, _ in SECTIONS]
    tree = root["/StructTreeRoot"]
    parts = [part.get_object() for part in tree["/K"][0].get_object()["/K"]]
    kinds = Counter(part["/S"] for part in parts)
    assert kinds["/H1"] == 1
    assert kinds["/H2"] >= len(SECTIONS)
    figures = [part for part in parts if part["/S"] == "/Figure"]
    assert len(figures) >= 7
    assert all(part["/Alt"].strip() for part in figures)
    marks = tree["/ParentTree"]["/Nums"]
    for number, page in enumerate(reader.pages):
        assert page["/StructParents"] == number
        painted = len(re.findall(rb"/MCID \d+>> BDC", page.get_contents().get_data()))
        assert painted == len(marks[2 * number + 1]) > 0


def test_a_printer_without_colours_can_print_it():
    """WCAG 2.2, 1.4.3, of the greys that colours become: text at least 4.5 to 1 on paper."""
    for ink in (Ink.INK, Ink.SOFT, Ink.BLUE, Ink.WAX):
        parts = [int(COLOURS[ink][place : place + 2], 16) / 255 for place in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        grey = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
        assert 1.05 / (grey + 0.05) >= 4.5, ink


def test_whatever_people_typed_is_printed_or_named():
    """A published result is never without its report."""
    strange = comparison(
        Plan(method="triangle", tasters=12),
        sitting("blue"),
        replace(sitting("green", Information.INFORMED), told="The 漢 one\nis new"),
    )
    strange = replace(strange, title="Saison \N{BEER MUG}, " + "o" * 150)
    known, _ = opened(evening(strange, right_and_wrong("blue", 6, 12)))
    change = replace(CHANGE, what="\u200bNew \N{CLINKING BEER MUGS}", reason="x" * 300)
    text = " ".join(pages_of(report_pdf(result(known, change), known.comparison,
                                        edition(known.comparison))))  # fmt: skip
    assert "[beer mug]" in text
    assert "[clinking beer mugs]" in text
    assert "[cjk unified ideograph-6f22]" in text
    assert text.replace(" ", "").count("x" * 250) == 1


def test_many_groups_and_cautions_stay_on_the_first_page():
    """Six sittings that stand by themselves: what does not fit is said to stand on other pages."""
    names = [f"{colour} and rather long named" for colour in "abcdef"]
    apart = comparison(
        Plan(method="triangle", tasters=72, join_sittings=False), *map(sitting, names)
    )
    all_trays = [one for name in names for one in right_and_wrong(name, 9, 12)]
    known, _ = opened(evening(apart, all_trays))
    pages = pages_of(report_pdf(result(known), known.comparison, edition(known.comparison)))
    assert "page 1 of" in pages[0]
    assert "pages behind this one" in pages[0]
    assert ADDRESS in pages[0]
