"""A comparison as blinded people may know it: nothing tells the variable or the drinks apart."""

from dataclasses import replace

from panel.core.comparison import Beer, Comparison
from panel.core.names import Blinding, Information
from panel.core.plan import BALANCED


def blinded_view(comparison: Comparison) -> Comparison:
    """For tasters, stewards and the public before publication. That a sitting is split may be
    known, and its steward must know it to hand out the slips; who is told, nobody here can see."""
    return replace(
        comparison,
        title=comparison.neutral_title,
        variable="",
        beers=tuple(Beer(letter=beer.letter, name="") for beer in comparison.beers),
        plan=replace(comparison.plan, stronger="", reference=BALANCED),
        sittings=tuple(
            replace(sitting, told="", information=_open_about(sitting.information))
            for sitting in comparison.sittings
        ),
        waived="",
    )


def _open_about(information: Information) -> Information:
    return information if information is Information.SPLIT else Information.BLINDED


def pourers_view(comparison: Comparison) -> Comparison:
    """For pourers: the names that stand on what they pour from, which under triple blinding are
    cover names, and nothing else of the beers."""
    covered = comparison.blinding is Blinding.TRIPLE
    return replace(
        blinded_view(comparison),
        beers=tuple(
            Beer(
                letter=beer.letter,
                name="" if covered else beer.name,
                cover_name=beer.cover_name,
            )
            for beer in comparison.beers
        ),
    )
