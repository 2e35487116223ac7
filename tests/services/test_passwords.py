"""Passwords: how one is kept, and which are refused.

Parameters: OWASP Password Storage Cheat Sheet, scrypt N = 2^17, r = 8, p = 1.
"""

import hashlib

import pytest
from zxcvbn.frequency_lists import FREQUENCY_LISTS

from panel.core.errors import PanelError
from panel.services import passwords

GOOD = "four small copper kettles"


@pytest.fixture(autouse=True)
def quick_passwords() -> None:
    """Not here: these tests are about the real cost."""


def test_kept_with_the_parameters_of_the_sheet_and_checked_by_hand():
    """Once with the real cost: recomputed with hashlib's scrypt, apart from the library used."""
    kept = passwords.hashed(GOOD)
    method, salt, digest = kept.split("$")
    assert method == "scrypt:131072:8:1"
    assert len(salt) >= 16
    by_hand = hashlib.scrypt(
        GOOD.encode(), salt=salt.encode(), n=2**17, r=8, p=1, maxmem=2**28, dklen=64
    )
    assert digest == by_hand.hex()


def test_an_unknown_name_costs_the_same_parameters():
    method, _salt, digest = passwords.UNKNOWN.split("$")
    assert method == passwords.METHOD
    assert len(bytes.fromhex(digest)) == 64


@pytest.fixture
def _cheap(monkeypatch):
    monkeypatch.setattr(passwords, "METHOD", "scrypt:1024:8:1")


@pytest.mark.usefixtures("_cheap")
def test_what_matches():
    kept = passwords.hashed("Müller’s kettle")
    assert passwords.matches(kept, "Müller’s kettle")
    assert passwords.matches(kept, "Mu\u0308ller’s kettle")  # composed otherwise: NFKC
    assert not passwords.matches(kept, "müller’s kettle")
    assert not passwords.matches(kept, "")
    assert not passwords.matches(kept, "x" * 10_000_000)
    assert passwords.hashed(GOOD) != passwords.hashed(GOOD)


@pytest.mark.parametrize(
    "word",
    [GOOD, "correct1", "x9y " * 60, "Zwölf Krüge", "a" * 7 + "bc", "日本のビールが好き"],
)
def test_what_may_be_a_password(word):
    assert passwords.check(word, "Ada", "The Harbour Guild") == passwords.normal(word)


@pytest.mark.parametrize(
    ("word", "code"),
    [
        ("", "password-short"),
        ("seven77", "password-short"),
        ("x9" * 128 + "x", "password-long"),
        ("password", "password-common"),
        ("PassWord123!", "password-common"),
        ("homebrewing", "password-common"),
        ("12345678", "password-common"),
        ("87654321", "password-common"),
        ("abababab", "password-common"),
        ("stuvwxyz", "password-common"),
        ("ada brewer", "password-common"),
        ("AdaBrewer2027", "password-common"),
        ("theharbourguild", "password-common"),
    ],
)
def test_what_may_not(word, code):
    with pytest.raises(PanelError) as refusal:
        passwords.check(word, "Ada  Brewer", "The Harbour Guild", "")
    assert refusal.value.code == code
    assert refusal.value.field == "password"


def test_longer_is_advised():
    assert passwords.advice("kettle99") is not None
    assert passwords.advice(GOOD) is None


def test_digits_behind_a_common_word_help_nobody():
    for word in passwords.COMMON:
        with pytest.raises(PanelError, match=r"anybody would try|at least 8"):
            passwords.check(f"{word.title()}2027!")


def test_what_breaches_have_published_is_refused():
    """At least the 3,000 most frequent that are long enough (OWASP ASVS 5.0.0, 6.2.4)."""
    long_enough = [one for one in FREQUENCY_LISTS["passwords"] if len(one) >= passwords.SHORTEST]
    assert len(long_enough) > 3_000
    for word in (*long_enough[:3_000:100], long_enough[2_999], long_enough[-1]):
        for typed in (word, word.upper(), f"{word}!", f"{word} 2027"):
            with pytest.raises(PanelError, match="one of the first passwords"):
                passwords.check(typed)
