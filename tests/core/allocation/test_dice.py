"""Dice: everybody adds to the secret, and nothing is left to choose after the throw."""

import hashlib
import hmac
import json
import unicodedata
from dataclasses import replace

import pytest

from panel.core.allocation.comparison_draw import draw_comparison
from panel.core.allocation.dice import LONGEST, Dice, dice_text, from_words, lock_of
from panel.core.allocation.draw_facts import all_facts
from panel.core.allocation.seal import check_seal, seal_digest
from panel.core.allocation.trays import key_words
from panel.core.errors import PanelError
from panel.core.names import Blinding
from panel.core.plan_document import plan_document
from tests.core.allocation.test_repeat import repeated
from tests.results import comparison, sitting

RANDOM = bytes(range(32))


def test_the_secret_is_what_the_docstring_says():
    """Computed with the standard library alone; hmac is RFC 2104, SHA-256 is FIPS 180-4."""
    dice = Dice(RANDOM, "4 2 6 1 é")
    expected = hmac.new(RANDOM, "4 2 6 1 é".encode(), hashlib.sha256).digest()
    assert dice.secret() == expected


def test_the_lock_is_what_the_docstring_says():
    facts = list(all_facts(comparison(None, sitting("blue"), sitting("green"))))
    words = {"draw": facts, "random": RANDOM.hex()}
    text = json.dumps(words, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert lock_of(RANDOM, facts) == hashlib.sha256(text.encode()).hexdigest()
    assert [one["first_number"] for one in facts] == [1, 25]


def test_whatever_the_draw_depends_on_is_under_the_lock():
    one = comparison(None, sitting("blue"))
    lock = lock_of(RANDOM, all_facts(one))
    others = (
        replace(one, plan=replace(one.plan, wave_size=12)),
        replace(one, plan=replace(one.plan, excluded_codes=("666",))),
        replace(one, sittings=(sitting("red"),)),
        replace(one, sittings=(sitting("blue", planned=6),)),
        replace(one, blinding=Blinding.SINGLE),
    )
    assert len({lock, *(lock_of(RANDOM, all_facts(other)) for other in others)}) == 6
    assert lock_of(bytes(32), all_facts(one)) != lock


def test_a_typed_text_is_tidied_once():
    typed = "  4 2\r\n6\t1  " + unicodedata.normalize("NFD", "é")
    assert dice_text(typed) == "4 2 6 1 é"
    assert dice_text(" \n ") == ""
    with pytest.raises(ValueError, match="tidy"):
        Dice(RANDOM, "4  2")


def test_a_sermon_is_refused():
    assert dice_text("6" * LONGEST)
    with pytest.raises(PanelError) as refused:
        dice_text("6" * (LONGEST + 1))
    assert (refused.value.code, refused.value.field) == ("dice-too-long", "dice")


def test_both_parts_are_under_the_seal():
    plan, key, dice = {"a": 1}, {"1": [["482", "A"]]}, Dice(RANDOM, "4 2")
    seal = seal_digest(plan, key, dice.secret(), dice=dice.words())
    assert seal != seal_digest(plan, key, dice.secret())
    assert check_seal(seal, plan, key, dice.secret(), dice=dice.words())
    assert not check_seal(seal, plan, key, dice.secret(), dice=Dice(RANDOM, "4 3").words())
    words = {
        "dice": {"random": RANDOM.hex(), "text": "4 2"}, "key": key, "plan": plan,
        "secret": dice.secret().hex(), "version": 1,
    }  # fmt: skip
    text = json.dumps(words, sort_keys=True, separators=(",", ":"))
    assert seal == hashlib.sha256(text.encode()).hexdigest()
    assert from_words(dice.words()) == dice


def test_facts_and_draw_agree_by_the_script_in_docs():
    """docs/draw.py knows nothing of this program."""
    known = comparison(None, sitting("blue"), sitting("green", planned=5))
    secret = Dice(RANDOM, "4 2 6 1").secret()
    draws = draw_comparison(secret, known)
    lines = [repeated({"secret": secret.hex(), **facts}) for facts in all_facts(known)]
    words = key_words(draws)
    expected = [
        f"{tray.number} {tray.order} {' '.join(code for code, _ in words[str(tray.number)])}"
        for draw in draws
        for tray in draw.trays
    ]
    assert "".join(lines).splitlines() == expected
    assert plan_document(known, "panel 0")["orders"] == next(all_facts(known))["orders"]
