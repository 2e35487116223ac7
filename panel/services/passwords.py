"""Passwords: what may be one, and how one is kept and compared.

Kept as scrypt with N = 2^17, r = 8, p = 1 (OWASP Password Storage Cheat Sheet): 128 MiB of memory
each time, so one is computed at a time. Length is what counts, not kinds of characters (OWASP
Application Security Verification Standard 5.0.0, 6.2.1 to 6.2.9).
"""

import threading
import unicodedata
from functools import cache

from werkzeug.security import check_password_hash, generate_password_hash

from panel.core.errors import PanelError
from panel.core.message import Message, say

METHOD = "scrypt:131072:8:1"
SHORTEST = 8
ADVISED = 15
LONGEST = 256

UNKNOWN = f"{METHOD}$unknown${'0' * 128}"
"""Compared with when there is no such person: the same work, and nothing matches it."""

# What everybody would guess first, here above all; the list of `_published` is longer. Compared
# without case, and also with digits and marks put behind.
COMMON = frozenset(
    word
    for line in (
        "aaaaaaaa abcabcabc abcdefgh abcd1234 adminadmin administrator asdfasdf asdfghjk",
        "asdfghjkl baseball basketball beerbeer brewbeer brewery changeme chocolate computer",
        "dragon dragondragon football footballs homebrew homebrewer homebrewing iloveyou internet",
        "letmein letmeinn letmeinplease master monkey mustang passw0rd password passwordpassword",
        "p@ssw0rd p@ssword pa55word princess qazwsxedc qwerty qwertyui qwertyuiop qwertz qwertzui",
        "secret secretsecret sunshine trustno trustno1 welcome welcomewelcome whatever zaqxswcde",
        "zxcvbnm zxcvbnmm 1q2w3e4r 1q2w3e4r5t 1qaz2wsx 1qaz2wsx3edc q1w2e3r4",
    )
    for word in line.split()
)

ENDINGS = "0123456789!?.,-_*#$"
RUNS = "01234567890123456789", "98765432109876543210", "abcdefghijklmnopqrstuvwxyz"

one_at_a_time = threading.Lock()
"""Held while scrypt works, by whoever calls it: each takes 128 MiB."""


def check(password: str, *names: str) -> str:
    """The password in its one Unicode form (NFKC: phones and laptops compose letters differently).

    names: words that are no secret here, such as the person's name. PanelError for one that is too
    short, too long or too easily guessed.
    """
    form = normal(password)
    if len(form) < SHORTEST:
        raise _refusal(
            "password-short",
            say(
                "A password needs at least %(least)s characters; %(advised)s or more are better. "
                "Three or four words in a row make a good one.",
                least=SHORTEST,
                advised=ADVISED,
            ),
        )
    if len(form) > LONGEST:
        raise _refusal(
            "password-long",
            say("A password can have at most %(most)s characters.", most=LONGEST),
        )
    if _easily_guessed(form, names):
        raise _refusal(
            "password-common",
            say(
                "This is one of the first passwords that anybody would try. Take three or four "
                "words in a row that only you would put together."
            ),
        )
    return form


def advice(password: str) -> Message | None:
    """What could be better about a password that may be taken; None if it is long enough."""
    if len(normal(password)) >= ADVISED:
        return None
    return say("Longer is safer: %(advised)s characters or more.", advised=ADVISED)


def hashed(password: str) -> str:
    """The text that is kept of a password."""
    with one_at_a_time:
        return generate_password_hash(normal(password), method=METHOD)


def matches(kept: str, password: str) -> bool:
    """Whether a password is the one that was kept; the same work whatever it is."""
    if len(password) > 4 * LONGEST:
        password = ""  # no work that grows with what is sent
    with one_at_a_time:
        return check_password_hash(kept, normal(password))


def normal(password: str) -> str:
    """A password as it is hashed."""
    return unicodedata.normalize("NFKC", password)


def _easily_guessed(form: str, names: tuple[str, ...]) -> bool:
    word = "".join(form.casefold().split())
    known = COMMON | ({"".join(name.casefold().split()) for name in names} - {""})
    stem = len(word.rstrip(ENDINGS))
    return (
        any(word[:end] in _published() for end in range(stem, len(word) + 1))
        or any(word.startswith(one) and not word[len(one) :].strip(ENDINGS) for one in known)
        or len(set(word)) <= 2
        or any(word in run for run in RUNS)
    )


@cache
def _published() -> frozenset[str]:
    """The passwords of eight characters or more among the 30,000 most frequent of published
    breaches, as zxcvbn's list has them (11,611 in its version 4.5)."""
    from zxcvbn.frequency_lists import FREQUENCY_LISTS  # 30 ms that no start should pay

    return frozenset(one for one in FREQUENCY_LISTS["passwords"] if len(one) >= SHORTEST)


def _refusal(code: str, message: Message) -> PanelError:
    return PanelError(code, message, field="password")
