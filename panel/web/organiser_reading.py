"""Reads a form field by field and gathers every refusal, so that all of them are shown at once."""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, say

Words = Mapping[str, list[str]]
"""What a form sent: field name to its values."""

LINE = 200
"""Most characters of a text in one line."""

Chosen = TypeVar("Chosen", bound=StrEnum)

_WHOLE = re.compile(r"\d{1,7}")
_DECIMAL = re.compile(r"[-+]?\d{1,7}(?:\.\d{1,8})?")
_UNITS = re.compile(r"\s*(?:%|°?\s*c|m[lm])$", re.IGNORECASE)
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


class Reading:
    """One form being read. What cannot be read gives a stand-in and is refused at `done`."""

    def __init__(self, words: Words) -> None:
        self.words = words
        self.refusals: list[PanelError] = []

    def text(self, name: str, most: int = LINE) -> str:
        """A text without spaces around it; "" if nothing was typed."""
        text = _CONTROLS.sub("", self._typed(name).replace("\r\n", "\n"))
        if len(text) > most:
            self.refuse(
                name,
                "too-long",
                say(
                    "This has %(characters)s characters; %(most)s is the most there is room for.",
                    characters=len(text),
                    most=most,
                ),
            )
        return text

    def listed(self, name: str, most: int = 20) -> tuple[str, ...]:
        """Several texts, divided by commas or lines."""
        parts = (part.strip() for part in re.split(r"[,;\n]", self.text(name, 10 * LINE)))
        found = tuple(dict.fromkeys(part for part in parts if part))
        if len(found) > most:
            self.refuse(name, "too-many", say("At most %(most)s of them, please.", most=most))
        return found

    def whole(self, name: str, example: int) -> int | None:
        """A whole number, 0 or more; None if nothing was typed."""
        typed = self._number(name)
        if not typed:
            return None
        if not _WHOLE.fullmatch(typed):
            self.refuse(
                name,
                "no-whole-number",
                say(
                    "“%(typed)s” is no whole number. Write it in digits, such as %(example)s.",
                    typed=self._typed(name)[:LINE],
                    example=example,
                ),
            )
            return None
        return int(typed)

    def decimal(self, name: str, example: str) -> Decimal | None:
        """A number with a point or comma; None if nothing was typed."""
        typed = self._number(name).replace(",", ".").replace("−", "-")
        if not typed:
            return None
        if not typed.isascii() or not _DECIMAL.fullmatch(typed):
            self.refuse(
                name,
                "no-number",
                say(
                    "“%(typed)s” is no number. Write it in digits, such as %(example)s.",
                    typed=self._typed(name)[:LINE],
                    example=example,
                ),
            )
            return None
        return Decimal(typed)

    def share(self, name: str, example: str) -> Decimal | None:
        """A share typed as so many in 100, above 0 and up to 100, as a proportion."""
        hundredths = self.decimal(name, example)
        if hundredths is None:
            return None
        if not 0 < hundredths <= 100:
            self.refuse(
                name,
                "no-share",
                say(
                    "A share lies above 0 and up to 100 in 100, such as %(example)s.",
                    example=example,
                ),
            )
            return None
        return hundredths / 100

    def one_of(self, name: str, answers: type[Chosen], missing: Message) -> Chosen | None:
        """The answer that was chosen; refused with `missing` where there is none."""
        found = self.word(name, answers, missing)
        return None if found is None else answers(found)

    def word(self, name: str, known: Iterable[str], missing: Message) -> str | None:
        """The same for a list of words."""
        typed = self._typed(name)
        if typed in set(known):
            return typed
        self.refuse(name, "not-chosen", missing)
        return None

    def yes(self, name: str) -> bool:
        """Whether a box is ticked."""
        return bool(self._typed(name))

    def refuse(self, name: str, code: str, message: Message) -> None:
        """One more refusal, beside the field of that name."""
        self.refusals.append(PanelError(code, message, field=name))

    def refused(self, name: str) -> bool:
        """Whether the field of that name was refused already."""
        return any(refusal.field == name for refusal in self.refusals)

    def done(self) -> None:
        """RefusalsError with every refusal, if there is any."""
        if self.refusals:
            raise RefusalsError(tuple(self.refusals))

    def _typed(self, name: str) -> str:
        return next(iter(self.words.get(name, ())), "").strip()

    def _number(self, name: str) -> str:
        return _UNITS.sub("", self._typed(name))
