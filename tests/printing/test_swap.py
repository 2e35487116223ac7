"""Blinded sheets are the same to the byte when the two beers change places.

CONSORT 2025 and ICH E6(R3) 4.1 ask that nothing blinded people handle depends on the allocation;
what cannot differ cannot tell.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from panel.core.methods import METHODS
from panel.core.names import SittingKind
from panel.printing.kit import contents, sheet
from tests.printing.papers import a_job, named_comparison, swapped


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("kind", SittingKind)
def test_swapping_the_beers_changes_no_blinded_sheet(kind, method):
    job = replace(a_job(kind=kind, method=method, planned=6), key=None)
    other = replace(job, order=swapped(job.order))
    names = [content.name for content in contents(job)]
    assert len(names) >= 3
    for name in names:
        assert sheet(name, job) == sheet(name, other), name


@pytest.mark.parametrize("kind", SittingKind)
def test_nor_when_only_one_of_them_has_alcohol(kind):
    beers = tuple(
        replace(beer, abv=abv)
        for beer, abv in zip(named_comparison().beers, (Decimal(0), Decimal(5)), strict=True)
    )
    job = replace(a_job(kind=kind, comparison=named_comparison(beers=beers)), key=None)
    other = replace(job, order=swapped(job.order))
    for content in contents(job):
        assert sheet(content.name, job) == sheet(content.name, other), content.name


def test_swapping_the_beers_does_change_what_the_pourer_gets():
    """So that the test above cannot pass by comparing nothing."""
    job = a_job(planned=6)
    other = replace(job, order=swapped(job.order))
    for name in ("pour-mats", "pour-sheet", "sealed-key"):
        assert sheet(name, job) != sheet(name, other)


def test_the_same_order_gives_the_same_bytes():
    for content in contents(a_job()):
        assert sheet(content.name, a_job()) == sheet(content.name, a_job()), content.name
