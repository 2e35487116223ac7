"""What is compared, where it is served, and what stands on a tray: frozen values.

A tray knows its codes and never its beers: which code holds which beer is the key's alone.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from panel.core.duties import Duties
from panel.core.names import (
    Blinding,
    CardStanding,
    Helpers,
    Information,
    Paper,
    Reason,
    SittingKind,
    SittingStanding,
    Standing,
)
from panel.core.plan import Plan, Serving


@dataclass(frozen=True, kw_only=True)
class Beer:
    """One batch under comparison. `name` and `value` may tell the variable: never for the blinded.

    `value` is what the variable is in this beer; `abv` in percent by volume.
    """

    letter: str
    name: str
    value: str = ""
    abv: Decimal | None = None
    cover_name: str = ""
    notes: str = ""


SAME_EVENING = timedelta(hours=6)
"""So near to its beginning a sitting is still held as planned, whatever the calendar says."""


@dataclass(frozen=True, kw_only=True)
class Sitting:
    """One occasion: a place, a date, one group of tasters, served the same way.

    `planned` trays are printed; `drawn` (twice as many) are covered by the seal. `told` is what
    informed tasters are told, word for word: all of an informed sitting, half of a split one.
    `starts` is UTC, `zone` an IANA name. `groups_drawn`: lots decided who came to this sitting and
    who to another; in a split sitting they decide by themselves.
    """

    id: str
    name: str
    kind: SittingKind = SittingKind.TABLE
    information: Information = Information.BLINDED
    planned: int
    drawn: int = 0
    place: str = ""
    starts: datetime
    zone: str
    told: str = ""
    language: str = "en"
    paper: Paper = Paper.A4
    groups_drawn: bool = False
    standing: SittingStanding = SittingStanding.PREPARED
    opened: datetime | None = None
    closed: datetime | None = None

    @property
    def not_held(self) -> bool:
        """Whether it did not take place: closed without ever having been opened."""
        return self.standing is SittingStanding.CLOSED and self.opened is None

    def on_another_day(self, moment: datetime) -> bool:
        """Whether a moment (UTC) falls on another day than planned, where the sitting is held. An
        hour after midnight still belongs to an evening that was to begin before it."""
        zone = ZoneInfo(self.zone)
        same = moment.astimezone(zone).date() == self.starts.astimezone(zone).date()
        return not same and abs(moment - self.starts) > SAME_EVENING


@dataclass(frozen=True, kw_only=True)
class Seal:
    """The public commitment: SHA-256 (hex) over plan, key and secret, and when it was made."""

    digest: str
    made: datetime


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """What is being asked. `title` and `variable` are for those who may know; blinded people read
    `neutral_title`. `drink` is the word the sheets print."""

    id: str
    slug: str
    title: str
    neutral_title: str
    variable: str
    beers: tuple[Beer, ...]
    plan: Plan
    serving: Serving
    drink: str = "beer"
    organised_by: str = ""
    helpers: Helpers = Helpers.TWO
    blinding: Blinding = Blinding.DOUBLE
    standing: Standing = Standing.DRAFTED
    sittings: tuple[Sitting, ...] = ()
    seal: Seal | None = None
    created: datetime
    closed: datetime | None = None
    published: datetime | None = None
    waived: str = ""  # why words shared with blinded texts were waived before sealing
    duties: Duties = field(default_factory=Duties)


@dataclass(frozen=True)
class Cup:
    """One coded serving: its place on the tray, counted from 1, and its three digits."""

    position: int
    code: str


@dataclass(frozen=True, kw_only=True)
class Tray:
    """What one taster gets at one time. `number` is unique in its comparison and stands on the
    card with its check letter; `version` grows when the card is printed anew. Whether a split
    sitting's taster is told rests with the key, so that no list of trays can tell."""

    number: int
    sitting: str
    wave: int
    place: int
    cups: tuple[Cup, ...]
    spare: bool = False
    standing: CardStanding = CardStanding.PRINTED
    reason: Reason | None = None
    note: str = ""
    taster: str = ""  # a hand-out number or nickname, if the taster wishes
    version: int = 1
    handed_out: datetime | None = None  # UTC; None while it stands on the table

    def codes(self) -> tuple[str, ...]:
        """The codes in serving order."""
        return tuple(cup.code for cup in self.cups)


Key = dict[int, str]
"""Tray number to serving order, {17: "ABA"}: with the tray's codes, which cup holds which beer."""
