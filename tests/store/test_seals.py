"""The key at rest: opaque, bound to its comparison and instance key, and any changed bit is seen.

Checked against RFC 5869 (HKDF) written out here, and AES-GCM (NIST SP 800-38D) of the library
called by hand.
"""

import hashlib
import hmac

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text

from panel.core.errors import Fault, PanelError
from panel.store import comparisons, seals
from panel.store.instance_key import derive, fingerprint
from panel.store.key_at_rest import Ciphertext, decrypt, encrypt
from tests.store.values import NOON, comparison

KEY = bytes(range(32))
PLAIN = b'{"key":{"1":"ABA"},"secret":"00"}'


def nonce(length: int) -> bytes:
    return b"\x07" * length


def hkdf(key: bytes, info: bytes, length: int) -> bytes:
    """RFC 5869, sections 2.2 and 2.3, with SHA-256 and no salt; one block is enough here."""
    extracted = hmac.new(b"\x00" * 32, key, hashlib.sha256).digest()
    return hmac.new(extracted, info + b"\x01", hashlib.sha256).digest()[:length]


def test_the_written_out_hkdf_is_the_standards():
    """RFC 5869, appendix A.3: SHA-256, empty salt and info, first 32 of its 42 bytes."""
    expected = "8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d"
    assert hkdf(b"\x0b" * 22, b"", 32).hex() == expected


def test_derived_keys_are_hkdf():
    assert derive(KEY, "cookies") == hkdf(KEY, b"panel cookies", 32)
    assert fingerprint(KEY) == hkdf(KEY, b"panel fingerprint", 8).hex()
    assert len({derive(KEY, purpose) for purpose in ("cookies", "accounts", "key at rest")}) == 3


def test_what_rests_is_aes_gcm_bound_to_its_comparison():
    resting = encrypt(KEY, "comparison01", PLAIN, nonce)
    cipher = AESGCM(hkdf(KEY, b"panel key at rest", 32))
    bound_to = b"AES-256-GCM/HKDF-SHA256\x001\x00comparison01"
    assert resting.bytes[:12] == nonce(12)
    assert cipher.decrypt(nonce(12), resting.bytes[12:], bound_to) == PLAIN
    assert (resting.algorithm, resting.version) == ("AES-256-GCM/HKDF-SHA256", 1)


@given(st.binary(max_size=300), st.text(max_size=12))
def test_what_is_shut_opens_again(plain, name):
    assert decrypt(KEY, name, encrypt(KEY, name, plain, nonce)) == plain


def test_every_changed_bit_is_refused():
    resting = encrypt(KEY, "comparison01", PLAIN, nonce)
    for place in range(8 * len(resting.bytes)):
        changed = bytearray(resting.bytes)
        changed[place // 8] ^= 1 << place % 8
        with pytest.raises(PanelError, match="does not open"):
            decrypt(KEY, "comparison01", Ciphertext(bytes(changed)))


@pytest.mark.parametrize(
    ("key", "name", "resting"),
    [
        (b"\x01" * 32, "comparison01", None),
        (KEY, "comparison02", None),
        (KEY, "comparison01", Ciphertext(b"")),
        (KEY, "comparison01", Ciphertext(b"\x00" * 27)),
        (KEY, "comparison01", Ciphertext(PLAIN, "AES-256-GCM/HKDF-SHA256", 2)),
        (KEY, "comparison01", Ciphertext(PLAIN, "another", 1)),
    ],
    ids=["other key", "other comparison", "empty", "cut", "newer version", "other algorithm"],
)
def test_what_does_not_belong_is_refused_in_words(key, name, resting):
    with pytest.raises(PanelError) as refusal:
        decrypt(key, name, resting or encrypt(KEY, "comparison01", PLAIN, nonce))
    assert refusal.value.fault is Fault.PLACE


def test_the_database_holds_no_plain_key_before_closing(units):
    resting = encrypt(KEY, "comparison01", PLAIN, nonce)
    with units.begin() as session:
        comparisons.add(session, comparison())
        seals.add(
            session, "comparison01", digest="ab", document="{}", made=NOON, ciphertext=resting
        )
        assert seals.rest(session, "comparison02") is None
        assert seals.load(session, "comparison02") is None
    with units.read() as session:
        row = session.execute(text("SELECT * FROM seal")).one()
        assert seals.rest(session, "comparison01") == resting
    assert "ABA" not in repr(row)
    assert "secret" not in repr(row)


def test_a_comparison_is_sealed_once(units):
    facts = {"digest": "ab", "document": "{}", "made": NOON, "ciphertext": Ciphertext(b"x")}
    with units.begin() as session:
        comparisons.add(session, comparison())
        seals.add(session, "comparison01", **facts)
    with pytest.raises(PanelError), units.begin() as session:
        seals.add(session, "comparison01", **facts)
