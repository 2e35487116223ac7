"""What a card's code holds: drawn again with other libraries, bounded by the QR standard."""

import base64

import pytest
import qrcode
from cryptography.hazmat.primitives.hashes import SHA256, Hash
from cryptography.hazmat.primitives.hmac import HMAC
from qrcode.util import MODE_ALPHA_NUM, QRData

from panel.core.errors import Fault, PanelError
from panel.core.paper.payload import (
    ALPHANUMERIC,
    CAPACITIES,
    qr_address,
    qr_version,
    ref_of,
    short_hash,
    token_hash,
    tray_tokens,
    typed_short_code,
)

KEY = bytes(range(32))


def test_tokens_are_the_documented_hmac():
    # Recomputed with the cryptography package's own HMAC and SHA-256.
    mac = HMAC(KEY, SHA256())
    mac.update(b"tray\x00comparison01\x0017\x002")
    letters = base64.b32encode(mac.finalize()).decode()
    tokens = tray_tokens(KEY, "comparison01", 17, 2)
    assert tokens.token == letters[:16]
    assert tokens.short_code == letters[16:24]
    assert tokens.shown == f"{letters[16:20]} {letters[20:24]}"


def test_a_new_version_another_tray_or_another_comparison_share_nothing():
    many = {
        tray_tokens(KEY, comparison, number, version)
        for comparison in ("comparison01", "comparison0")
        for number in range(1, 40)
        for version in (1, 11)
    }
    assert len({tokens.token for tokens in many}) == len({tokens.short_code for tokens in many})
    assert len(many) == 2 * 39 * 2


def test_only_hashes_are_kept():
    digest = Hash(SHA256())
    digest.update(b"ABCDEFGHIJKLMNOP")
    expected = digest.finalize().hex()
    assert token_hash("ABCDEFGHIJKLMNOP") == expected
    assert ref_of("ABCDEFGHIJKLMNOP") == expected[:16]
    assert short_hash("ABCDEFGH") != short_hash("ABCDEFGI")


@pytest.mark.parametrize("typed", ["ABCD EFGO", "abcd efgo", " abcd-efg0 ", "ABCDEFGO"])
def test_a_typed_short_code_takes_its_true_form(typed):
    assert typed_short_code(typed) == "ABCDEFGO"


def test_digits_that_base_32_lacks_are_read_as_the_letters_they_look_like():
    assert typed_short_code("0018 8ABC") == "OOIBBABC"


@pytest.mark.parametrize("typed", ["", "ABCD", "ABCDEFGHI", "ABCD EF9H", "ABCD EFÄH"])
def test_what_cannot_be_a_short_code_is_refused(typed):
    with pytest.raises(PanelError) as refusal:
        typed_short_code(typed)
    assert refusal.value.code == "not-a-short-code"


def test_the_address_is_upper_case_with_the_token_behind_it():
    assert (
        qr_address("http://192.168.1.20:8000/", "ABCDEFGHIJKLMNOP")
        == "HTTP://192.168.1.20:8000/ABCDEFGHIJKLMNOP"
    )


def test_an_address_with_other_characters_is_refused_by_name():
    with pytest.raises(PanelError) as refusal:
        qr_address("http://cellar_door.example", "ABCDEFGHIJKLMNOP")
    assert refusal.value.code == "address-not-for-qr"
    assert refusal.value.fault is Fault.PLACE
    assert "“_”" in str(refusal.value)


@pytest.mark.parametrize(("version", "capacity"), CAPACITIES.items())
def test_capacities_are_those_of_the_qr_standard(version, capacity):
    # The qrcode package's tables are those of ISO/IEC 18004.
    def side(length: int) -> int:
        code = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_M)
        code.add_data(QRData(b"A" * length, mode=MODE_ALPHA_NUM))
        return code.best_fit()

    assert side(capacity) == version
    assert side(capacity + 1) == version + 1


def test_one_version_for_a_whole_kit():
    assert qr_version(["A" * 38, "B" * 20]) == 2
    assert qr_version(["A" * 38, "B" * 39]) == 3
    assert qr_version([]) == 2


def test_an_address_that_fits_no_card_is_refused_with_the_way_out():
    with pytest.raises(PanelError) as refusal:
        qr_version(["A" * 65])
    assert refusal.value.code == "address-too-long"
    assert "4 characters too long" in str(refusal.value)


def test_the_alphabet_is_the_standards():
    assert len(ALPHANUMERIC) == 45  # ISO/IEC 18004, table of the alphanumeric mode
