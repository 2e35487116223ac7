"""The tests a comparison can use, one file each; this dict names them all."""

from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.methods import (
    a_not_a,
    a_not_a_both,
    duo_trio,
    paired,
    paired_preference,
    ranking,
    same_different,
    tetrad,
    tetrad_specified,
    three_afc,
    triangle,
    two_out_of_five,
)
from panel.core.methods.method import Detection, ForcedChoice, Method, Ranking

METHODS: dict[str, Method] = {
    module.METHOD.id: module.METHOD
    for module in (
        triangle,
        duo_trio,
        paired,
        paired_preference,
        three_afc,
        tetrad,
        tetrad_specified,
        two_out_of_five,
        a_not_a,
        a_not_a_both,
        same_different,
        ranking,
    )
}


def method_named(name: str) -> Method:
    """The method of that id; PanelError (code "unknown-method") if there is none."""
    try:
        return METHODS[name]
    except KeyError:
        raise PanelError(
            "unknown-method",
            say(
                "There is no method called “%(name)s”. Choose one of: %(names)s.",
                name=name,
                names=", ".join(METHODS),
            ),
            field="method",
        ) from None


def forced_choice(name: str) -> ForcedChoice:
    """The forced-choice method of that id, for what only such methods have (chance, a curve).

    TypeError for another kind: whoever asks has looked first.
    """
    method = method_named(name)
    if not isinstance(method, ForcedChoice):
        raise TypeError(f"{name} is no forced choice")
    return method


__all__ = [
    "METHODS",
    "Detection",
    "ForcedChoice",
    "Method",
    "Ranking",
    "forced_choice",
    "method_named",
]
