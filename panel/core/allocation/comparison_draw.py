"""The draw of a whole comparison: each sitting from streams of its own, numbers running on."""

from panel.core.allocation.trays import DrawnTray, SittingDraw, draw_sitting
from panel.core.comparison import Comparison, Cup, Sitting, Tray
from panel.core.methods import method_named
from panel.core.names import Blinding, Information, SittingKind


def draw_one(
    secret: bytes, comparison: Comparison, sitting: Sitting, first_number: int
) -> SittingDraw:
    """The draw of one sitting. Parcels and repeat trials are drawn tray by tray, since one
    taster's own answer may open while another's tray is still shut."""
    method = method_named(comparison.plan.method)
    return draw_sitting(
        secret,
        sitting.id,
        first_number,
        method.orders(comparison.plan),
        sitting.planned,
        comparison.plan.wave_size,
        excluded_codes=comparison.plan.excluded_codes,
        one_shuffle=comparison.blinding is Blinding.SINGLE,
        references=method.references,
        independent=sitting.kind is not SittingKind.TABLE,
        split=sitting.information is Information.SPLIT,
    )


def draw_comparison(secret: bytes, comparison: Comparison) -> tuple[SittingDraw, ...]:
    """The draws of all sittings, in their order."""
    draws: list[SittingDraw] = []
    first = 1
    for sitting in comparison.sittings:
        draws.append(draw_one(secret, comparison, sitting, first))
        first += draws[-1].drawn
    return tuple(draws)


def trays_of(draw: SittingDraw) -> tuple[Tray, ...]:
    """The trays of a draw as everybody may know them: codes, never beers."""
    return tuple(_blinded(draw.sitting_id, tray) for tray in draw.trays)


def _blinded(sitting: str, tray: DrawnTray) -> Tray:
    return Tray(
        number=tray.number,
        sitting=sitting,
        wave=tray.wave,
        place=tray.place,
        cups=tuple(Cup(cup.position, cup.code) for cup in tray.cups),
        spare=tray.spare,
    )
