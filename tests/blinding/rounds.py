"""The evening as everybody who is blind meets it, from draft to publication.

`walk` leads an event through its stages and lets everybody look at everything they can get at each
(looking.py), do what people do at a sitting (serving.py) and try every door (doors.py).
"""

from collections.abc import Callable

from tests.blinding.artefacts import Album, Reader, Stage, dump
from tests.blinding.company import arrive, logged
from tests.blinding.doors import try_doors
from tests.blinding.event import Event
from tests.blinding.looking import kit, look, look_as_tasters
from tests.blinding.serving import come_late, serve


def walk(event: Event, *, whole: bool = True) -> Album:
    """The album of an evening. Only inside `steady()`.

    whole: from draft to publication, with the organiser's screens, and everybody also tries the
    doors that are nobody's or somebody else's: the same whatever the method. Otherwise the kit and
    the sitting, in which everything about cups is seen.
    """
    with logged() as log:
        here = arrive(event, whole)
        for stage, step in steps_of(event, whole):
            here.album.stage = stage
            step()
            if stage is Stage.SEALED:
                kit(here)
            if stage is Stage.SERVING:
                look_as_tasters(here, event.trays()[:9])  # the planned ones and three spares
                serve(here)
            if stage is Stage.ENDED:
                come_late(here)
            if whole or stage is Stage.SERVING:
                look(here)
            if whole and stage is Stage.SERVING:
                try_doors(here)
            here.album.keep(Reader.COPIER, "database", (), dump(event.at))
            here.album.keep(Reader.OPERATOR, "log", (), log.getvalue().encode())
    return here.album


def steps_of(event: Event, whole: bool) -> list[tuple[Stage, Callable[[], None]]]:
    """The stages of an evening, each with what leads to it."""
    sitting: list[tuple[Stage, Callable[[], None]]] = [
        (Stage.SEALED, event.seal),
        (Stage.SERVING, event.open),
    ]
    if not whole:
        return sitting
    return [
        (Stage.DRAFTED, lambda: None),
        *sitting,
        (Stage.ENDED, event.end),
        (Stage.CLOSED, event.close),
        (Stage.PUBLISHED, event.publish),
    ]
