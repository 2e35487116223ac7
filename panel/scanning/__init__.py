"""Reading paper cards: files to pages, pages to cards, cards to answers and open questions.

    for page in read_file(data, candidates):      # in a process of its own, with limits
        for card in page.cards:
            ...

    for page in pages_of(data):                   # what happens in there
        for reading in read_page(page.picture, known):
            ...

This door opens lazily (PEP 562): importing the room loads none of numpy, scipy, Pillow, zxing-cpp
and pypdfium2; the first name that is asked for does.
"""

from importlib import import_module
from typing import TYPE_CHECKING

# The names thrice: for type checkers, for __getattr__, and as what is public. A test compares them.
if TYPE_CHECKING:
    from panel.scanning.apart import (
        LIMITS,
        Candidates,
        Limits,
        PageOfFile,
        ReadOnPage,
        read_file,
    )
    from panel.scanning.pages import (
        FilePage,
        pages_of,
    )
    from panel.scanning.picture_size import size_of_picture
    from panel.scanning.projective import (
        Picture,
    )
    from panel.scanning.read_marks import (
        Doubt,
        PlaceReading,
        State,
    )
    from panel.scanning.reader import (
        read_page,
    )
    from panel.scanning.reading import (
        CardKnown,
        CardReading,
        Known,
        OpenQuestion,
        Reason,
    )
    from panel.scanning.thresholds import (
        THRESHOLDS,
        Thresholds,
        reader_version,
    )

_HOME = {
    "apart": ("LIMITS", "Candidates", "Limits", "PageOfFile", "ReadOnPage", "read_file"),
    "pages": ("FilePage", "pages_of"),
    "picture_size": ("size_of_picture",),
    "projective": ("Picture",),
    "read_marks": ("Doubt", "PlaceReading", "State"),
    "reader": ("read_page",),
    "reading": ("CardKnown", "CardReading", "Known", "OpenQuestion", "Reason"),
    "thresholds": ("THRESHOLDS", "Thresholds", "reader_version"),
}
_MODULE = {name: module for module, names in _HOME.items() for name in names}

__all__ = [
    "LIMITS",
    "THRESHOLDS",
    "Candidates",
    "CardKnown",
    "CardReading",
    "Doubt",
    "FilePage",
    "Known",
    "Limits",
    "OpenQuestion",
    "PageOfFile",
    "Picture",
    "PlaceReading",
    "ReadOnPage",
    "Reason",
    "State",
    "Thresholds",
    "pages_of",
    "read_file",
    "read_page",
    "reader_version",
    "size_of_picture",
]


def __getattr__(name: str) -> object:
    """Load the module that holds the name, once."""
    if name not in _MODULE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(f"{__name__}.{_MODULE[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(_MODULE)
