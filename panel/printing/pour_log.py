"""The log on the pour sheet where more than two beers are poured: a line for each wave with the
order of the jugs, and a line for each container."""

from collections.abc import Mapping, Sequence

from panel.core.drawing import Anchor
from panel.core.message import say
from panel.core.quantities import SittingQuantities
from panel.printing.blocks import Block, heading
from panel.printing.sheet import Order, pouring_name
from panel.printing.tables import Column, table

Wave = tuple[str, str, Mapping[str, int], Mapping[str, int]]
"""Its name, its trays, the jug of each beer's letter, and how many cups each letter fills."""


def jug_waves(order: Order, waves: Sequence[Wave], room: float) -> list[Block]:
    """Waves with their jugs in turn and the cups of each: letters, which the key's owner knows."""
    speak = order.speak
    columns = [
        Column(speak(say("Wave")), 0.09),
        Column(speak(say("Trays")), 0.12),
        Column(speak(say("First jug")), 0.20, what=say("the name of a beer, on the pour sheet")),
        Column(speak(say("Cups of each jug in turn")), 0.23, Anchor.MIDDLE),
        Column(speak(say("°C coldest")), 0.09, line=True),
        Column(speak(say("°C warmest")), 0.09, line=True),
        Column(speak(say("First cup at")), 0.09, line=True),
        Column(speak(say("Last tray at")), 0.09, line=True),
    ]
    rows = []
    for name, trays, jugs, cups in waves:
        in_turn = sorted(jugs, key=lambda letter: jugs[letter])
        rows.append(
            (
                name,
                trays,
                pouring_name(order.comparison, in_turn[0]),
                "+".join(str(cups[letter]) for letter in in_turn),
                "",
                "",
                "",
                "",
            )
        )
    return [heading(speak(say("Waves")), room), *table(columns, rows, room, line_height=6.6)]


def container_lines(
    order: Order, needs: SittingQuantities, spare_lines: int, room: float
) -> list[Block]:
    """A line for each container that is reckoned with, and some to spare."""
    speak = order.speak
    columns = [
        Column(order.drink(), 0.24, what=say("the name of a beer, on the pour sheet")),
        Column(speak(say("Container")), 0.1),
        Column(speak(say("Batch or bottle no.")), 0.18, line=True),
        Column(speak(say("Opened at")), 0.11, line=True),
        Column(speak(say("Run off, ml")), 0.11, line=True),
        Column(speak(say("Waves")), 0.09, line=True),
        Column(speak(say("Anything odd")), 0.17, line=True),
    ]
    rows = [
        (pouring_name(order.comparison, beer.letter), str(number), "", "", "", "", "")
        for beer in needs.beers
        for number in range(1, beer.containers + spare_lines + 1)
    ]
    return [heading(speak(say("Containers")), room), *table(columns, rows, room, line_height=7.2)]
