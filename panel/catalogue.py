"""What the core says, in a person's language: sentences from the catalogues, numbers and moments
as that language writes them.

The English sentence is its own id, so English is complete without a catalogue. Another language
is one folder in panel/translations. To gather the sentences, and to start and compile a language:

    pybabel extract -F pyproject.toml -k say -k say_n:1,2 --no-location --sort-output \
        --project=panel -o panel/translations/messages.pot panel
    pybabel init -i panel/translations/messages.pot -d panel/translations -l de
    pybabel compile -d panel/translations
"""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from babel import Locale
from babel.dates import format_datetime
from babel.numbers import format_decimal, format_percent
from babel.support import NullTranslations, Translations

from panel.core.message import Day, Message, Moment, Number, Parameter, PValue, Share, say

Speak = Callable[[Message], str]

FOLDER = Path(__file__).parent / "translations"
ENGLISH = "en"
TERRITORY = {"en": "en_GB"}
"""How a language without a territory writes its dates; the others are their own."""

SMALLEST_P = 0.001
_LESS = say("less than %(limit)s")


def languages() -> tuple[str, ...]:
    """The languages that can be spoken: English, and every folder with a compiled catalogue."""
    found = {path.parent.parent.name for path in FOLDER.glob("*/LC_MESSAGES/messages.mo")}
    return (ENGLISH, *sorted(found - {ENGLISH}))


def locale_of(language: str) -> Locale:
    """The locale that writes this language's numbers and dates."""
    return Locale.parse(TERRITORY.get(language, language).replace("-", "_"))


@cache
def speaker(language: str) -> Speak:
    """A function that says messages in a language; English where the language has no sentence."""
    known = language if language in languages() else ENGLISH
    catalogue = Translations.load(FOLDER, [known])
    locale = locale_of(known)

    def speak(message: Message) -> str:
        sentence = _sentence(catalogue, message)
        values = {name: _written(value, locale, speak) for name, value in message.parameters}
        return sentence % values if values else sentence.replace("%%", "%")

    return speak


def _sentence(catalogue: NullTranslations, message: Message) -> str:
    if message.plural is None or message.count is None:
        return str(catalogue.ugettext(message.id))
    return str(catalogue.ungettext(message.id, message.plural, message.count))


def _written(value: Parameter, locale: Locale, speak: Speak) -> str:
    match value:
        case Message():
            return speak(value)
        case Share(share, digits):
            return format_percent(share, format=_percent_pattern(locale, digits), locale=locale)
        case PValue(p) if p < SMALLEST_P:
            return speak(Message(_LESS.id, (("limit", Number(SMALLEST_P, 3)),)))
        case PValue(p):
            return _decimal(p, 3, locale)
        case Number(number, digits):
            return _decimal(number, digits, locale)
        case Moment(utc, zone):
            form = f"{_day(locale)}, HH:mm"
            return format_datetime(utc, form, tzinfo=ZoneInfo(zone), locale=locale)
        case Day(utc, zone):
            comma = "" if locale.language == ENGLISH else ","
            form = f"EEEE{comma} {_day(locale)}"
            return format_datetime(utc, form, tzinfo=ZoneInfo(zone), locale=locale)
        case _:
            return str(value)


def _day(locale: Locale) -> str:
    """The language's own order and points: 14 March 2027, 14. März 2027."""
    return str(locale.date_formats["long"].pattern)


def _decimal(number: float, digits: int, locale: Locale) -> str:
    return format_decimal(number, format=f"#,##0{_places(digits)}", locale=locale)


def _percent_pattern(locale: Locale, digits: int) -> str:
    """The locale's own pattern, which may put a space before the sign, with these digits."""
    whole = str(locale.percent_formats[None].pattern)
    last = whole.rindex("0") + 1
    return whole[:last] + _places(digits) + whole[last:]


def _places(digits: int) -> str:
    return "." + "0" * digits if digits else ""
