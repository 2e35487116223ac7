"""A sitting as a form: its words as they are typed, and the draft that they say."""

import calendar
import re
from datetime import UTC, datetime, timedelta, tzinfo

from panel.catalogue import languages
from panel.core.comparison import Sitting
from panel.core.drafts import planned_refused, sitting_name_refused, zone_named
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.names import Information, Paper, SittingKind
from panel.services.plan_comparison import SittingDraft
from panel.settings import Settings
from panel.web.organiser_reading import Reading, Words

PARAGRAPH = 600
EARLIEST, LATEST = 2000, 2199
"""Years in which a sitting may lie; any other is a slip of the keyboard."""

LEFT_OPEN = ("sitting_name", "date", "time", "place", "planned", "told")
"""Fields that are empty on a fresh form: all of them left so, no sitting is meant yet."""

_MONTHS = (
    say("January"),
    say("February"),
    say("March"),
    say("April"),
    say("May"),
    say("June"),
    say("July"),
    say("August"),
    say("September"),
    say("October"),
    say("November"),
    say("December"),
)
_WRITTEN = (
    re.compile(r"(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})"),
    re.compile(r"(?P<day>\d{1,2})\.\s?(?P<month>\d{1,2})\.\s?(?P<year>\d{4})"),
)
_CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})")


def is_left_open(words: Words) -> bool:
    """Whether nothing was written of a sitting."""
    return not any("".join(words.get(name, ())).strip() for name in LEFT_OPEN)


def sitting_read(reading: Reading) -> SittingDraft:
    """The sitting that a form says; what cannot be read is refused at the reading's end."""
    name = reading.text("sitting_name", 80)
    reading.refusals += sitting_name_refused(name)
    starts = _starts(reading)
    planned = reading.whole("planned", 24)
    if planned is None and not reading.refused("planned"):
        reading.refuse("planned", "planned", say("Say for how many tasters you set the table."))
    elif planned is not None:
        reading.refusals += planned_refused(planned)
    information = reading.one_of(
        "information", Information, say("Say whether these tasters are told what was changed.")
    )
    kind = reading.one_of("kind", SittingKind, say("Say how this sitting is served."))
    return SittingDraft(
        name=name,
        planned=planned or 0,
        starts=starts,
        zone=reading.text("zone"),
        kind=kind or SittingKind.TABLE,
        information=information or Information.BLINDED,
        place=reading.text("place", 120),
        told=reading.text("told", PARAGRAPH),
        language=reading.word("language", languages(), say("Choose a language.")) or "en",
        paper=reading.one_of("paper", Paper, say("Choose the paper you print on.")) or Paper.A4,
        groups_drawn=reading.yes("groups_drawn"),
    )


def words_of_sitting(sitting: Sitting) -> dict[str, list[str]]:
    """The form as it would be typed for a sitting."""
    local = sitting.starts.astimezone(zone_named(sitting.zone))
    words = {
        "sitting_name": sitting.name,
        "planned": str(sitting.planned),
        "date": f"{local:%Y-%m-%d}",
        "time": f"{local:%H:%M}",
        "zone": sitting.zone,
        "kind": str(sitting.kind),
        "information": str(sitting.information),
        "place": sitting.place,
        "told": sitting.told,
        "language": sitting.language,
        "paper": str(sitting.paper),
        "groups_drawn": "yes" if sitting.groups_drawn else "",
    }
    return {name: [word] for name, word in words.items() if word}


def fresh_sitting(settings: Settings, other: Sitting | None = None) -> dict[str, list[str]]:
    """The form before anything is typed: as another sitting of the comparison, else as usual."""
    usual = {
        "kind": SittingKind.TABLE,
        "information": Information.BLINDED,
        "zone": other.zone if other else settings.zone,
        "language": other.language if other else settings.language,
        "paper": other.paper if other else settings.paper,
    }
    return {name: [str(word)] for name, word in usual.items()}


def _starts(reading: Reading) -> datetime:
    """The moment in UTC; any moment at all where it cannot be read, for that is refused."""
    day, clock = _day(reading), _clock(reading)
    try:
        zone: tzinfo = zone_named(reading.text("zone"))
    except PanelError as refusal:
        reading.refusals.append(refusal)
        zone = UTC
    if day is None or clock is None:
        return datetime(EARLIEST, 1, 1, tzinfo=UTC)
    local = day + clock
    starts = local.replace(tzinfo=zone).astimezone(UTC)
    if starts.astimezone(zone).replace(tzinfo=None) != local:
        reading.refuse(
            "time",
            "no-such-moment",
            say(
                "The clocks go forward that night: there is no %(time)s on that day. Choose "
                "another time.",
                time=f"{local:%H:%M}",
            ),
        )
    return starts


def _day(reading: Reading) -> datetime | None:
    typed = reading.text("date", 40)
    if not typed:
        reading.refuse("date", "no-date", say("Say on which day it is held."))
        return None
    match = next(filter(None, (pattern.fullmatch(typed) for pattern in _WRITTEN)), None)
    if match is None:
        reading.refuse(
            "date",
            "date-unread",
            say(
                "“%(typed)s” cannot be read as a date. Write year, month and day, such as "
                "2027-03-14.",
                typed=typed,
            ),
        )
        return None
    year, month, day = (int(match[part]) for part in ("year", "month", "day"))
    return _existing_day(reading, year, month, day)


def _existing_day(reading: Reading, year: int, month: int, day: int) -> datetime | None:
    if not EARLIEST <= year <= LATEST:
        reading.refuse("date", "no-such-year", say("Is %(year)s the right year?", year=str(year)))
    elif not 1 <= month <= 12:
        reading.refuse(
            "date",
            "no-such-month",
            say("There is no month %(month)s: months run from 1 to 12.", month=month),
        )
    elif not 1 <= day <= calendar.monthrange(year, month)[1]:
        reading.refuse(
            "date",
            "no-such-day",
            say(
                "There is no %(day)s %(month)s %(year)s: that month has %(days)s days.",
                day=day,
                month=_MONTHS[month - 1],
                year=str(year),
                days=calendar.monthrange(year, month)[1],
            ),
        )
    else:
        return datetime(year, month, day)
    return None


def _clock(reading: Reading) -> timedelta | None:
    typed = reading.text("time", 40)
    match = _CLOCK.fullmatch(typed)
    if not typed:
        reading.refuse("time", "no-time", say("Say at what time it begins."))
    elif match is None:
        reading.refuse(
            "time",
            "time-unread",
            say(
                "“%(typed)s” cannot be read as a time. Write hours and minutes, such as 19:30.",
                typed=typed,
            ),
        )
    elif int(match[1]) > 23 or int(match[2]) > 59:
        reading.refuse(
            "time",
            "no-such-time",
            say("There is no %(typed)s: a day runs from 00:00 to 23:59.", typed=typed),
        )
    else:
        return timedelta(hours=int(match[1]), minutes=int(match[2]))
    return None
