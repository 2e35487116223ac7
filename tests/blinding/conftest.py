"""Evenings are made once for all tests that look at them; the machine stands still around them."""

import os
from collections.abc import Callable, Iterator
from functools import cache

import pytest

# Read when numpy is first imported: sums of one thread are the same everywhere, and on a machine
# with other work to do two threads that wait for each other take ten times as long as one.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from panel.core.names import Blinding
from tests.blinding.artefacts import Album
from tests.blinding.event import Facts, evening, steady
from tests.blinding.rounds import walk


@pytest.fixture(scope="session")
def album() -> Iterator[Callable[..., Album]]:
    """album(facts, whole=True): everything that can be got of such an evening."""

    @cache
    def made(facts: Facts, whole: bool = True) -> Album:
        with steady(), evening(facts) as event:
            return walk(event, whole=whole)

    yield made
    made.cache_clear()


@pytest.fixture(scope="session")
def level() -> Callable[[Facts], Blinding]:
    """level(facts): the blinding that an evening of so many people really gives."""

    @cache
    def given(facts: Facts) -> Blinding:
        with steady(), evening(facts) as event:
            return event.known.blinding

    return given
