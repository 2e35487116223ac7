"""Words that would tell a blinded taster, a steward or a poster's reader what was changed.

Secret are the variable, its value in each beer and the beers' names. Met by everybody are the
neutral title, the drink, names and places of sittings, who organises, the vessel, the attribute
where the ballot asks for one, and the allergens. A word in both is a leak; it blocks sealing until
one of the two is changed, or waived with a reason. Two kinds waive themselves, because they cannot
be taken away: a word of the attribute that the ballot has to name (the finding then says that every
taster was told what to look for), and a word of the allergen list, because safety goes before
blinding.

What tells nothing: little words, and those of tasting itself, anywhere; words of the trade in the
name of a beer, though not in the variable, which may be the very bottle; the plain word for the
drink; and the style that all beers have in their names.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from panel.core.comparison import Comparison
from panel.core.message import Message, say
from panel.core.methods import METHODS

SHORTEST = 3
"""Three letters, not four: hop, rye, oat, dry, new and old are what comparisons are about."""

_ENDINGS = ("ness", "ing", "er", "ed", "es", "s", "y")
_WORDS = re.compile(r"\d+(?:[.,]\d+)*|[^\W\d_]+")

_LITTLE = """
    and any are both but for from had has have her his how its just less more most not one our out
    per than that the their them then there these they this two three use used using very was were
    what when where which who why will with without you your all
    taste tastes tasted taster tasters tasting test tests testing sample samples compare comparison
    triangle versus
    aus bei das dem den der des die ein eine einem einen einer für mit ohne und vom von zum zur
    avec aux dans des deux les mais par pas plus pour sans sur une
    con del della delle las los más para per por sin una uno
    een het met niet van voor zonder
"""
_DRINKS = """
    beer beers bier bière birra cerveza ale ales drink drinks cider ciders coffee coffees bread
    breads tea wine
"""
_TRADE = """
    batch batches brew brews brewed brewer brewers brewing brewery bottle cup cups tray sitting
    evening night club guild society group panel members room hall pub first second january february
    march april may june july august september october november december monday tuesday wednesday
    thursday friday saturday sunday
"""
_OFTEN_CHANGED = """
    hop hops malt malts yeast water sugar salt spice fruit honey oak wood smoke lactose caffeine
    barley wheat rye oat oats rice maize flour bean beans roast mash boil ferment fermentation
    condition carbonation age aged filtered pasteurised bottle can cask keg cold warm fresh old new
    strength
"""
"""Never taken for a style, even where all beers have it in their names."""

_LITTLE_WORDS = frozenset(_LITTLE.split())
_DRINK_WORDS = frozenset(_DRINKS.split())
_IN_NAMES = _DRINK_WORDS | frozenset(_TRADE.split())


@dataclass(frozen=True, kw_only=True)
class Leak:
    """A word shared by a secret text and a text that blinded people meet.

    `secret` and `met` name where each stands; `field` is the form field of the text that is met.
    `waived_by_itself` is True where the word cannot be taken away and a caution says so instead.
    """

    word: str
    secret: Message
    met: Message
    field: str
    waived_by_itself: bool = False

    def sentence(self) -> Message:
        """What is wrong and what to do, or why nothing can be done."""
        if self.field == "allergens":
            return say(
                "The allergen list names “%(word)s”, which stands in %(secret)s. Safety goes "
                "before blinding: the list stays as it is, and the result says that tasters read "
                "it.",
                word=self.word,
                secret=self.secret,
            )
        if self.waived_by_itself:
            return say(
                "The ballot asks about “%(word)s”, which stands in %(secret)s. This test cannot "
                "do without it: the result says that every taster was told what to look for.",
                word=self.word,
                secret=self.secret,
            )
        return say(
            "“%(word)s” stands in %(secret)s and in %(met)s, where blinded tasters read it. "
            "Change %(met)s, or write down why it tells nothing.",
            word=self.word,
            secret=self.secret,
            met=self.met,
        )


@dataclass(frozen=True)
class _Text:
    where: Message
    field: str
    text: str


def leaks(comparison: Comparison) -> tuple[Leak, ...]:
    """Every shared word once for each text that is met, in the order in which they are met.

    Words are compared without case, and without the endings that make hopped of hop and bitterness
    of bitter. A word that is in every beer's name or value, such as the style, tells no beers
    apart and is no secret by itself.
    """
    secrets = _secret_words(comparison)
    asked = _words(_attribute(comparison))
    found: list[Leak] = []
    for met in _met(comparison):
        for stem, word in _words(met.text).items():
            match = next((secret for secret in secrets if _same(stem, secret)), None)
            if match is not None:
                found.append(
                    Leak(
                        word=word,
                        secret=secrets[match],
                        met=met.where,
                        field=met.field,
                        waived_by_itself=met.field == "allergens"
                        or any(_same(stem, one) for one in asked),
                    )
                )
    return tuple(found)


def blocking_leaks(comparison: Comparison) -> tuple[Leak, ...]:
    """The leaks that keep a comparison from being sealed: none once a reason waives them."""
    if comparison.waived.strip():
        return ()
    return tuple(leak for leak in leaks(comparison) if not leak.waived_by_itself)


def _secret_words(comparison: Comparison) -> dict[str, Message]:
    """Stem of each secret word, and where it stands."""
    secrets: dict[str, Message] = {}
    names = [_words(beer.name) for beer in comparison.beers]
    values = [_words(beer.value) for beer in comparison.beers]
    common, shared_value = _in_all(names), _in_all(values)
    known = _of_the_drink(comparison.drink) | _style(common, shared_value)
    for stem in _words(comparison.variable):
        secrets.setdefault(stem, say("what was changed"))
    for beer, name, value in zip(comparison.beers, names, values, strict=True):
        for stem in value:
            if stem not in shared_value:
                secrets.setdefault(stem, say("what it is in beer %(letter)s", letter=beer.letter))
        for stem, written in name.items():
            if stem not in common and written.casefold() not in _IN_NAMES:
                secrets.setdefault(stem, say("the name of beer %(letter)s", letter=beer.letter))
    return {stem: where for stem, where in secrets.items() if stem not in known}


def _of_the_drink(drink: str) -> set[str]:
    """The stems of a drink that has no more than its plain name: beer, but not coffee stout."""
    words = _words(drink)
    plain = all(written.casefold() in _DRINK_WORDS for written in words.values())
    return set(words) if plain else set()


def _style(common: set[str], shared_value: set[str]) -> set[str]:
    """Stems that all beers have in their names and that say nothing of what was changed."""
    return common - shared_value - {_stem(word) for word in _OFTEN_CHANGED.split()}


def _in_all(texts: list[dict[str, str]]) -> set[str]:
    """Stems that stand in every text; one text alone tells nothing apart."""
    return set.intersection(*map(set, texts)) if texts else set()


def _met(comparison: Comparison) -> Iterator[_Text]:
    yield _Text(say("the neutral title"), "neutral_title", comparison.neutral_title)
    yield _Text(say("the word for the drink"), "drink", comparison.drink)
    yield _Text(say("who organises it"), "organised_by", comparison.organised_by)
    yield _Text(say("the attribute asked for"), "attribute", _attribute(comparison))
    yield _Text(say("the vessel"), "vessel", comparison.serving.vessel)
    yield _Text(say("the allergens"), "allergens", ", ".join(comparison.serving.allergens))
    for sitting in comparison.sittings:
        name = say("the name of the sitting “%(name)s”", name=sitting.name)
        yield _Text(name, "sitting_name", sitting.name)
        place = say("the place of the sitting “%(name)s”", name=sitting.name)
        yield _Text(place, "place", sitting.place)


def _attribute(comparison: Comparison) -> str:
    """What the ballot asks for; "" where the test asks for nothing by name."""
    plan, method = comparison.plan, METHODS.get(comparison.plan.method)
    return plan.attribute if method is not None and method.names_attribute(plan) else ""


def _words(text: str) -> dict[str, str]:
    """Stem to the word as written, for every word or number that could tell something."""
    found: dict[str, str] = {}
    for written in _WORDS.findall(unicodedata.normalize("NFKC", text)):
        word = written.casefold()
        if word[0].isdigit():
            if len(word) > 1:
                found.setdefault(word.replace(",", "."), written)
        elif len(word) >= SHORTEST and word not in _LITTLE_WORDS:
            found.setdefault(_stem(word), written)
    return found


def _stem(word: str) -> str:
    """Without its endings, however many: bitterness, bitter and bittering are one."""
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= SHORTEST:
            return _stem(word.removesuffix(ending))
    doubled = len(word) > SHORTEST and word[-1] == word[-2] and word[-1] not in "aeiou"
    return word[:-1] if doubled else word


def _same(one: str, other: str) -> bool:
    """Equal, or one the beginning of the other: malt and malthouse, Hopfen and Hopfensorte."""
    if one[0].isdigit() or other[0].isdigit():
        return one == other
    shorter, longer = sorted((one, other), key=len)
    return one == other or (len(shorter) > SHORTEST and longer.startswith(shorter))
