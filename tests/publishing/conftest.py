"""One published event for all tests of the bundle: it is made once."""

from collections.abc import Iterator

import pytest

from panel.core.comparison import Comparison
from panel.services import show_result
from panel.services.workplace import Workplace
from tests.publishing.packages import Files, unpacked
from tests.publishing.whole_event import place, whole_event


@pytest.fixture(scope="session")
def event(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Workplace, Comparison]]:
    """The workplace and the published comparison."""
    with place(tmp_path_factory.mktemp("event")) as at:
        yield at, whole_event(at)


@pytest.fixture(scope="session")
def bundle(event: tuple[Workplace, Comparison]) -> bytes:
    """Its bundle, as anybody fetches it."""
    at, known = event
    return show_result.public_bundle(at, known.slug)


@pytest.fixture
def files(bundle: bytes) -> Files:
    """The bundle's files."""
    return unpacked(bundle)
