"""Evenings are made once for all tests that look at them; the machine stands still around them."""

from collections.abc import Callable, Iterator
from functools import cache

import pytest

from panel.core.names import Blinding
from tests.blinding.artefacts import Album
from tests.blinding.event import Facts, evening, steady
from tests.blinding.rounds import walk


@pytest.fixture(scope="session")
def album() -> Iterator[Callable[..., Album]]:
    """album(facts, whole=True): everything that can be got of such an evening."""

    @cache
    def made(facts: Facts, whole: bool) -> Album:
        with steady(), evening(facts) as event:
            return walk(event, whole=whole)

    yield lambda facts, whole=True: made(facts, whole)
    made.cache_clear()


@pytest.fixture(scope="session")
def level() -> Callable[[Facts], Blinding]:
    """level(facts): the blinding that an evening of so many people really gives."""

    @cache
    def given(facts: Facts) -> Blinding:
        with steady(), evening(facts) as event:
            return event.known.blinding

    return given
