"""The workplace of a command: whoever may run it on this machine is an organiser."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from panel.core.comparison import Comparison
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role
from panel.services import plan_comparison
from panel.services.workplace import Actor, Workplace, open_workplace
from panel.settings import Settings

OPERATOR = Actor(Role.ORGANISER, "command-line", name="command line")


@contextmanager
def workplace_at(settings: Settings) -> Iterator[Workplace]:
    """The workplace of an installation while a command runs."""
    at = open_workplace(settings)
    try:
        yield at
    finally:
        at.units.close()


def chosen(at: Workplace, name: str) -> Comparison:
    """The comparison whose id, slug or title begins with `name`; PanelError unless exactly one."""
    known = plan_comparison.every(at, OPERATOR)
    found = [one for one in known if name in (one.id, one.slug)] or [
        one for one in known if one.title.casefold().startswith(name.casefold())
    ]
    if len(found) == 1:
        return found[0]
    raise PanelError(
        "which-comparison",
        say(
            "“%(name)s” names no single comparison here. There are: %(known)s.",
            name=name,
            known="; ".join(f"{one.id} ({one.title})" for one in known) or "none",
        ),
        Fault.MISSING,
    )


def fresh_folder(out: Path) -> Path:
    """The folder, made where it is missing; PanelError if anything is in it."""
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise PanelError(
            "folder-not-empty",
            say("%(folder)s is not empty. Name a folder that is new or empty.", folder=str(out)),
        )
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as failure:
        raise PanelError(
            "folder-not-made",
            say(
                "%(folder)s cannot be made: %(why)s. Name another folder.",
                folder=str(out),
                why=failure.strerror or "",
            ),
            Fault.PLACE,
        ) from failure
    return out


def content(file: Path) -> bytes:
    """What is in a file; PanelError (fault PLACE) if it cannot be read."""
    try:
        return file.read_bytes()
    except OSError as failure:
        raise PanelError(
            "file-not-read",
            say("It cannot be read: %(why)s.", why=failure.strerror or ""),
            Fault.PLACE,
        ) from failure
