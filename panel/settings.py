"""The settings of one installation: defaults < instance/settings.toml < PANEL_* variables.

Every setting has one line here, with its default. A name that is not here is an error, wherever it
comes from: a mistyped setting must not be ignored in silence.
"""

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from panel.core.errors import Fault, PanelError
from panel.core.licences import DEFAULT, LICENCES
from panel.core.message import Message, say
from panel.core.names import Paper

FILE = "settings.toml"
PREFIX = "PANEL_"
LOGS = "text", "json"
NOT_SETTINGS = "PANEL_TEST_", "PANEL_REQUIRE_"
"""Prefixes of variables that steer the project's own tests."""


@dataclass(frozen=True, kw_only=True)
class Settings:
    """What an installation can choose. `instance` is the folder of all that belongs to it."""

    instance: Path
    database_url: str = ""  # empty: the file panel.db in the instance folder
    address: str = ""  # what QR codes print, without a slash at its end; empty: host and port
    lasting_address: str = ""  # where published folders will lie for good, if elsewhere
    host: str = "127.0.0.1"  # where the service listens
    port: int = 8000
    proxies: int = 0  # how many proxies of our own stand before the service
    guild: str = ""  # the club's name, as pages and sheets show it
    zone: str = "Europe/London"  # IANA name of the zone in which new sittings start
    language: str = "en"
    paper: Paper = Paper.A4
    country: str = "uk"  # which unit of alcohol is shown
    excluded_codes: tuple[str, ...] = ()  # cup codes that carry a meaning where you live
    right_millimetres: float = 0.0  # how far the printer must be moved right …
    down_millimetres: float = 0.0  # … and down
    print_scale: float = 1.0  # what a ruler page of 100 mm measures, over 100 mm
    licence: str = DEFAULT  # under which published data may be used
    erase_after_days: int = 90  # after publishing: nicknames and other personal words go
    log: str = "text"  # "json": one line of JSON for each request, without personal data
    accept_new_key: bool = False  # go on although the instance key is lost


def load(environment: Mapping[str, str], instance: Path | None = None) -> Settings:
    """The settings; PanelError (fault PLACE) in the user's words if any cannot be taken.

    environment: usually os.environ. instance: the folder; if None, PANEL_INSTANCE or "instance".
    """
    folder = instance or Path(environment.get(PREFIX + "INSTANCE") or "instance")
    given = {**_from_file(folder / FILE), **_from_environment(environment)}
    settings = Settings(instance=folder.absolute(), **given)
    return _completed(settings)


def on_this_machine_only(settings: Settings) -> bool:
    """Whether the address that cards would print reaches no phone."""
    return _loopback(urlsplit(settings.address).hostname or "")


def listens_here_only(settings: Settings) -> bool:
    """Whether the service itself takes connections from this machine alone."""
    return _loopback(settings.host)


def _loopback(host: str) -> bool:
    return host in ("localhost", "::1") or host.startswith("127.")


def _from_file(path: Path) -> dict[str, Any]:
    if not path.exists():
        return {}
    try:
        words = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise _refusal(
            "settings-unreadable", say("%(file)s cannot be read. Is it yours?", file=FILE)
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise _refusal(
            "settings-syntax",
            say("%(file)s is not written as TOML: %(error)s.", file=FILE, error=str(error)),
        ) from error
    return {name: _read(name, word, FILE) for name, word in words.items()}


def _from_environment(environment: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for variable, word in environment.items():
        if not variable.startswith(PREFIX) or variable.startswith(NOT_SETTINGS):
            continue
        name = variable.removeprefix(PREFIX).lower()
        if name != "instance":
            found[name] = _read(name, word, variable)
    return found


def _yes_or_no(word: Any) -> bool:
    if isinstance(word, bool):
        return word
    return {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}[
        str(word).lower()
    ]


def _whole(word: Any) -> int:
    if isinstance(word, bool | float):
        raise ValueError(word)
    return int(word)


def _decimal(word: Any) -> float:
    if isinstance(word, bool):
        raise ValueError(word)
    return float(word)


def _text(word: Any) -> str:
    if not isinstance(word, str):
        raise TypeError(word)
    return word.strip()


def _list(word: Any) -> tuple[str, ...]:
    """A TOML list, or one text with commas."""
    parts = word.split(",") if isinstance(word, str) else list(word)
    return tuple(part for part in (str(part).strip() for part in parts) if part)


READERS: dict[Any, tuple[Callable[[Any], Any], Message]] = {
    str: (_text, say("a text in quotation marks")),
    int: (_whole, say("a whole number")),
    float: (_decimal, say("a number")),
    bool: (_yes_or_no, say("true or false")),
    Paper: (lambda word: Paper(str(word).lower()), say("a4 or letter")),
    tuple[str, ...]: (_list, say('a list, such as ["135", "420"]')),
}


def _read(name: str, word: Any, where: str) -> Any:
    kinds = {field.name: field.type for field in fields(Settings) if field.name != "instance"}
    if name not in kinds:
        raise _refusal(
            "unknown-setting",
            say(
                "%(where)s names a setting “%(name)s” that Panel does not know. It knows: "
                "%(names)s.",
                where=where,
                name=name,
                names=", ".join(kinds),
            ),
        )
    reader, expected = READERS[kinds[name]]
    try:
        return reader(word)
    except (ValueError, TypeError, KeyError) as error:
        raise _wrong(name, expected) from error


def _completed(settings: Settings) -> Settings:
    """With address and database filled in, once every value is one that can work."""
    for name, fine, expected in _checks(settings):
        if not fine:
            raise _wrong(name, expected)
    return Settings(
        **{
            **{field.name: getattr(settings, field.name) for field in fields(settings)},
            "address": settings.address.rstrip("/") or _own_address(settings),
            "database_url": settings.database_url
            or f"sqlite:///{(settings.instance / 'panel.db').as_posix()}",
        }
    )


def _checks(settings: Settings) -> tuple[tuple[str, bool, Message], ...]:
    return (
        ("address", _is_address(settings.address), say("like http://192.168.1.20:8000")),
        (
            "lasting_address",
            _is_address(settings.lasting_address),
            say("like https://guild.example/results"),
        ),
        ("port", 0 <= settings.port <= 65_535, say("a whole number from 0 to 65535")),
        ("proxies", 0 <= settings.proxies <= 9, say("a whole number from 0 to 9")),
        ("zone", _is_zone(settings.zone), say("an IANA time zone, such as Europe/London")),
        (
            "excluded_codes",
            all(re.fullmatch("[0-9]{3}", code) for code in settings.excluded_codes),
            say("three-digit codes"),
        ),
        ("right_millimetres", abs(settings.right_millimetres) <= 20, say("from -20 to 20")),
        ("down_millimetres", abs(settings.down_millimetres) <= 20, say("from -20 to 20")),
        ("print_scale", 0.9 <= settings.print_scale <= 1.1, say("from 0.9 to 1.1")),
        ("licence", settings.licence in LICENCES, _one_of(LICENCES)),
        ("log", settings.log in LOGS, _one_of(LOGS)),
        ("erase_after_days", settings.erase_after_days >= 0, say("a whole number of days")),
    )


def _is_address(text: str) -> bool:
    """Whether it is none, or a plain address of the web."""
    parts = urlsplit(text)
    web = parts.scheme in ("http", "https") and bool(parts.hostname)
    return not text or (web and not (parts.query or parts.fragment or parts.username))


def _one_of(names: Iterable[str]) -> Message:
    return say("one of %(names)s", names=", ".join(names))


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):  # unknown, a folder, or no name at all
        return False
    return bool(name)


def _own_address(settings: Settings) -> str:
    everywhere = settings.host in ("", "0.0.0.0", "::")
    host = "localhost" if everywhere else settings.host
    return f"http://{f'[{host}]' if ':' in host else host}:{settings.port}"


def _wrong(name: str, expected: Message) -> PanelError:
    return _refusal(
        "wrong-setting",
        say(
            "The setting “%(name)s” must be %(expected)s. Correct it in %(file)s or in the "
            "variable %(variable)s.",
            name=name,
            expected=expected,
            file=FILE,
            variable=PREFIX + name.upper(),
        ),
    )


def _refusal(code: str, message: Message) -> PanelError:
    return PanelError(code, message, Fault.PLACE)
