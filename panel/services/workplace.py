"""What every service is handed: the settings, the database, the clock and the source of chance.

A service function takes (at: Workplace, actor: Actor, …), owns one transaction, appends its record
in it, and returns core values or frozen views.
"""

import base64
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.names import Role
from panel.services.kept_results import KeptResults
from panel.services.up_to_date import bring_up_to_date
from panel.settings import Settings
from panel.store import meta
from panel.store.durability import cautions
from panel.store.instance_key import FILE, check_folder, derive, fingerprint, instance_key
from panel.store.session import Units, make_engine

ID_CHARACTERS = 12
SLUG_CHARACTERS = 16
SECRET_TOKEN_BYTES = 32


@dataclass(frozen=True)
class Workplace:
    """`now()` is UTC and aware; `entropy(n)` gives n random bytes; `units` opens transactions;
    `results` keeps what was reckoned of closed comparisons."""

    settings: Settings
    units: Units
    now: Callable[[], datetime]
    entropy: Callable[[int], bytes]
    instance_key: bytes
    results: KeptResults[Any] = field(default_factory=KeptResults, compare=False)


@dataclass(frozen=True)
class Actor:
    """Who is doing something. `person` is the id that stands in the record: a person's, or that of
    the invitation which opened a pass. A pass is bound to one comparison and sitting."""

    role: Role
    person: str
    comparison: str | None = None
    sitting: str | None = None
    name: str = ""

    @classmethod
    def taster(cls, comparison: str, sitting: str, ref: str) -> "Actor":
        """Whoever holds a tray's card; the record knows the tray, never the person."""
        return cls(Role.TASTER, ref, comparison, sitting)

    def require_serving(self, comparison: str, sitting: str) -> None:
        """PanelError (fault FORBIDDEN) unless this is an organiser, or a steward with a pass for
        this very sitting."""
        passes = (self.comparison, self.sitting) == (comparison, sitting)
        if self.role is Role.ORGANISER or (self.role is Role.STEWARD and passes):
            return
        raise PanelError(
            "stewards-only",
            say("Only this sitting's stewards and the organiser can do this."),
            Fault.FORBIDDEN,
        )

    def require_organiser(self) -> None:
        """PanelError (fault FORBIDDEN) unless this is an organiser."""
        if self.role is not Role.ORGANISER:
            raise PanelError(
                "organisers-only",
                say("Only an organiser can do this. Sign in as one, or ask an organiser."),
                Fault.FORBIDDEN,
            )


NOBODY = Actor(Role.MEMBER, "nobody")
"""Whoever reads without having signed in."""


def open_workplace(
    settings: Settings,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    entropy: Callable[[int], bytes] = secrets.token_bytes,
) -> Workplace:
    """The workplace of an installation, its database brought up to date.

    PanelError (fault PLACE) if the folder, the key or the database cannot be used. Call
    `units.close()` at the end.
    """
    check_folder(settings.instance)
    units = Units(make_engine(settings.database_url))
    try:
        bring_up_to_date(settings, units, now)
        key = _matching_key(settings, units, entropy)
    except BaseException:
        units.close()
        raise
    return Workplace(settings, units, now, entropy, key)


def durability_cautions(at: Workplace) -> tuple[Message, ...]:
    """What whoever runs the service should know of its database before an evening."""
    with at.units.read() as session:
        return cautions(session)


def cookie_key(at: Workplace) -> bytes:
    """The key that signs cookies and forms."""
    return derive(at.instance_key, "cookies")


def new_id(at: Workplace) -> str:
    """12 lower-case base-32 characters: the id of a comparison, sitting or person."""
    return _base32(at.entropy(8))[:ID_CHARACTERS]


def new_slug(at: Workplace) -> str:
    """16 lower-case base-32 characters: the public name of a comparison."""
    return _base32(at.entropy(10))[:SLUG_CHARACTERS]


def new_token(at: Workplace) -> str:
    """A secret of 256 bits for a link or cookie, as 52 lower-case base-32 characters."""
    return _base32(at.entropy(SECRET_TOKEN_BYTES))


def _base32(random: bytes) -> str:
    return base64.b32encode(random).decode("ascii").rstrip("=").lower()


def _matching_key(settings: Settings, units: Units, entropy: Callable[[int], bytes]) -> bytes:
    """The instance key, if it is the one this database was made with.

    Never made anew in silence beside an old database: its sealed keys could not be opened.
    """
    with units.read() as session:
        known = meta.fact(session, meta.INSTANCE_KEY)
    lost = known is not None and not (settings.instance / FILE).exists()
    if lost and not settings.accept_new_key:
        raise _other_key()
    key = instance_key(settings.instance, entropy)
    mark = fingerprint(key)
    if known == mark:
        return key
    if known is not None and not settings.accept_new_key:
        raise _other_key()
    with units.begin() as session:
        meta.note(session, meta.INSTANCE_KEY, mark)
    return key


def _other_key() -> PanelError:
    return PanelError(
        "other-instance-key",
        say(
            "This database was made with another %(file)s. Put the copy back that you keep apart. "
            "If it is lost, set accept_new_key = true: open ballots go on, but cards cannot be "
            "printed again and a sealed comparison opens only with its envelope.",
            file=FILE,
        ),
        Fault.PLACE,
    )
