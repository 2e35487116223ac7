"""The secret on the sealed key: thirteen groups to type, a square code to read, how to use them."""

from dataclasses import replace

from panel.core.allocation.written_secret import WrittenSecret, written
from panel.core.drawing import Face, Matrix, Shape, Text
from panel.core.message import Speak, say
from panel.printing.blocks import (
    SMALL,
    STRONG,
    Block,
    height_of,
    placed,
    space,
    words,
)
from panel.printing.link_code import link_code

CODE = 24.0
"""Millimetres of the square code, and the air beside it."""
AIR = 5.0
SIZE, LINE, STEP, IN_A_LINE = 10.5, 5.0, 15.5, 3


def secret_block(secret: WrittenSecret, room: float, speak: Speak) -> Block:
    """The block, within `room` millimetres; it is never parted."""
    text = say(
        "All cards can be drawn again from these groups and the sealed plan. Should the file "
        "instance.key be lost, type them in on the evening’s page, under “The key does not open "
        "any more?”. The last character of each group checks the four before it."
    )
    blocks = [
        words(speak(say("If the computer is lost")), room, STRONG),
        space(1),
        words(speak(text), room, SMALL),
    ]
    if secret.dice:
        thrown = say("What the members threw: %(dice)s", dice=secret.dice)
        blocks += [space(1), words(speak(thrown), room, SMALL)]
    top = height_of(blocks) + 2.5
    groups = written(secret.bytes)
    lines = -(-len(groups) // IN_A_LINE)
    shapes: list[Shape] = [*placed(blocks, 0, 0), _code(groups, top)]
    for place, group in enumerate(groups):
        line, column = divmod(place, IN_A_LINE)
        x = CODE + AIR + column * STEP
        y = top + (line + 0.8) * LINE
        shapes.append(Text(x=x, y=y, text=group, size=SIZE, face=Face.BOLD))
    return Block(top + max(CODE, lines * LINE) + 1, tuple(shapes))


def _code(groups: tuple[str, ...], top: float) -> Matrix:
    (matrix,) = link_code(" ".join(groups)).shapes
    assert isinstance(matrix, Matrix)
    return replace(matrix, x=0.0, y=top, size=CODE)
