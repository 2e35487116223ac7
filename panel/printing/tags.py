"""What stands on a page, told to programs that read it aloud: a tagged PDF (ISO 32000-1, 14.8).

Groups of the page that have a tag become paragraphs, headings and figures in the order in which
they are painted; everything else is marked as mere ornament. reportlab writes no such tree itself,
so its objects are put together here.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString
from reportlab.pdfgen.canvas import Canvas

from panel.core.drawing import Group, Shape


class Tags:
    """Gathers what is tagged, page by page, and writes the tree of it at the end."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.document = canvas._doc
        self.tree = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        self.root = self.document.Reference(self.tree)
        self.whole = PDFDictionary({"Type": PDFName("StructElem"), "S": PDFName("Document")})
        self.above = self.document.Reference(self.whole)
        self.parts: list[Any] = []
        self.pages: list[list[Any]] = [[]]

    @contextmanager
    def around(self, shape: Shape) -> Iterator[None]:
        """Marks what is painted within: a tagged group, or an ornament."""
        if isinstance(shape, Group) and shape.tag is not None:
            here = self.pages[-1]
            self.canvas.addLiteral(f"/{shape.tag} <</MCID {len(here)}>> BDC")
            part = {
                "Type": PDFName("StructElem"),
                "S": PDFName(shape.tag),
                "P": self.above,
                "Pg": self.document.thisPageRef(),
                "K": len(here),
            }
            if shape.said:
                part["Alt"] = PDFString(shape.said)
            reference = self.document.Reference(PDFDictionary(part))
            here.append(reference)
            self.parts.append(reference)
        else:
            self.canvas.addLiteral("/Artifact BMC")
        yield
        self.canvas.addLiteral("EMC")

    def turn(self) -> None:
        """After a page: it says under which number its marks are found."""
        page = self.document.Pages.pages[-1]
        page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
        page.StructParents = len(self.pages) - 1
        page.Tabs = PDFName("S")
        self.pages.append([])

    def close(self) -> None:
        """The tree, once all pages are painted."""
        numbers: list[Any] = []
        for number, marks in enumerate(self.pages[:-1]):
            numbers += [number, PDFArray(marks)]
        self.whole.dict |= {"P": self.root, "K": PDFArray(self.parts)}
        self.tree.dict |= {
            "K": PDFArray([self.above]),
            "ParentTree": PDFDictionary({"Nums": PDFArray(numbers)}),
        }
        catalog = self.document.Catalog
        catalog.StructTreeRoot = self.tree
        catalog.MarkInfo = PDFDictionary({"Marked": "true"})
