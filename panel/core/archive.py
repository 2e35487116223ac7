"""The published comparisons as an archive: found by drink, by test, by words of what was changed.

What was changed is in the organiser's own words. Two comparisons stand side by side where those
words are the same however they are written: capitals, accents, points and spaces count for nothing.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from panel.core.comparison import Comparison

_ACCENTS = range(0x300, 0x370)
"""Combining diacritical marks; those of other scripts are part of their letters."""


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What somebody looks for; "" looks for anything. `words` stand in title, variable or beers."""

    words: str = ""
    drink: str = ""
    method: str = ""

    @property
    def any(self) -> bool:
        """Whether anything is looked for at all."""
        return bool(folded(self.words) or folded(self.drink) or self.method)


@dataclass(frozen=True, kw_only=True)
class Topic:
    """One variable in one drink, as last written, and how many comparisons have it."""

    drink: str
    variable: str
    comparisons: int


def folded(words: str) -> str:
    """Words as they are held together: letters and digits alone, without capitals or accents."""
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", words).casefold())
    kept = "".join(
        one if unicodedata.category(one)[0] in "LNM" else " "
        for one in plain
        if ord(one) not in _ACCENTS
    )
    return " ".join(kept.split())


def matching(published: Iterable[Comparison], wish: Wish) -> tuple[Comparison, ...]:
    """Those that fit all of a wish, in their order. Every word has to be found, or begin there."""
    words, drink = folded(wish.words).split(), folded(wish.drink)
    return tuple(
        known
        for known in published
        if (not drink or folded(known.drink) == drink)
        and wish.method in ("", known.plan.method)
        and all(word in _searched(known) for word in words)
    )


def _searched(known: Comparison) -> str:
    told = (part for beer in known.beers for part in (beer.name, beer.value))
    return folded(" ".join((known.title, known.variable, *told)))


def of_topic(published: Iterable[Comparison], drink: str, variable: str) -> tuple[Comparison, ...]:
    """The comparisons of one variable in one drink, in their order; () where it has no word."""
    wanted = folded(drink), folded(variable)
    return tuple(known for known in published if wanted[1] and topic_of(known) == wanted)


def topics(published: Iterable[Comparison]) -> tuple[Topic, ...]:
    """Every variable of every drink, as the first of its comparisons writes it, by the alphabet."""
    found: dict[tuple[str, str], Topic] = {}
    for known in published:
        topic = topic_of(known)
        if topic[1]:
            first = found.get(topic)
            found[topic] = Topic(
                drink=first.drink if first else known.drink,
                variable=first.variable if first else known.variable,
                comparisons=first.comparisons + 1 if first else 1,
            )
    return tuple(found[topic] for topic in sorted(found, key=lambda topic: topic[::-1]))


def variables(found: Iterable[Topic]) -> tuple[str, ...]:
    """The variables of topics in their order, each once, whatever the drink."""
    return tuple({folded(topic.variable): topic.variable for topic in found}.values())


def topic_of(known: Comparison) -> tuple[str, str]:
    """Drink and variable of a comparison, folded."""
    return folded(known.drink), folded(known.variable)
