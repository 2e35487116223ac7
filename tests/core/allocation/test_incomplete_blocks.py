"""Incomplete blocks: all pairs of beers meet equally often, and so do beers and positions."""

import hashlib
from collections import Counter
from itertools import combinations
from math import gcd

import pytest

from panel.core.allocation.incomplete_blocks import block_design, cups_possible

PRACTICAL = [(t, k) for t in range(3, 9) for k in cups_possible(t)]


def test_which_designs_are_practical():
    assert {t: cups_possible(t) for t in range(2, 10)} == {
        2: (),
        3: (2,),
        4: (2, 3),
        5: (2, 3, 4),
        6: (2, 3, 4, 5),
        7: (2, 3, 4, 5, 6),
        8: (2, 4, 6, 7),
        9: (),
    }


@pytest.mark.parametrize(("beers", "cups"), PRACTICAL)
def test_every_pair_meets_equally_often(beers, cups):
    design = block_design(beers, cups)
    blocks = [frozenset(order) for order in design.orders]
    assert all(len(block) == cups for block in blocks)
    first = blocks[: design.blocks]
    together = Counter(pair for block in first for pair in combinations(sorted(block), 2))
    assert set(together.values()) == {design.together}
    assert len(together) == beers * (beers - 1) // 2
    assert Counter(beer for block in first for beer in block) == dict.fromkeys(
        "ABCDEFGH"[:beers], design.each
    )
    assert len(set(first)) == design.blocks
    assert set(Counter(blocks).values()) == {len(blocks) // design.blocks}


@pytest.mark.parametrize(("beers", "cups"), PRACTICAL)
def test_every_beer_stands_in_every_position_equally_often(beers, cups):
    orders = block_design(beers, cups).orders
    assert len(set(orders)) == len(orders)
    counts = Counter(place for order in orders for place in enumerate(order))
    assert len(counts) == beers * cups
    assert len(set(counts.values())) == 1
    design = block_design(beers, cups)
    assert len(orders) == design.blocks * (cups // gcd(design.each, cups))


@pytest.mark.parametrize(
    ("beers", "cups", "each", "blocks", "together", "efficiency"),
    [
        # Cochran & Cox 1957, Experimental Designs, chapter 11; ISO 29842 (from memory).
        (5, 2, 4, 10, 1, 0.62),
        (5, 3, 6, 10, 3, 0.83),
        (6, 2, 5, 15, 1, 0.60),
        (6, 3, 5, 10, 2, 0.80),
        (6, 4, 10, 15, 6, 0.90),
        (7, 3, 3, 7, 1, 0.78),
    ],
)
def test_the_plans_of_the_books(beers, cups, each, blocks, together, efficiency):
    design = block_design(beers, cups)
    assert (design.each, design.blocks, design.together) == (each, blocks, together)
    assert design.efficiency == pytest.approx(efficiency, abs=0.006)
    assert blocks * cups == each * beers
    assert together * (beers - 1) == each * (cups - 1)


def test_a_design_never_changes_for_its_seals_must_open():
    written = " ".join(order for t, k in PRACTICAL for order in block_design(t, k).orders)
    digest = hashlib.sha256(written.encode()).hexdigest()
    assert digest == "b5bd5a10d7d29bb6e2721c034d4bb9f06282581043f4419b6435e716aaf0873e"


@pytest.mark.parametrize(("beers", "cups"), [(8, 3), (8, 5), (4, 4), (4, 1), (9, 3)])
def test_no_design_where_none_is_practical(beers, cups):
    with pytest.raises(ValueError, match="no practical design"):
        block_design(beers, cups)
