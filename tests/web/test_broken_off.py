"""A form whose connection broke before its end is none, and never a shorter one."""

from io import BytesIO
from urllib.parse import urlencode

import pytest
from flask import Flask

from panel.services.workplace import Workplace
from panel.store import ballots
from tests.builders import answers, serving, token, trays
from tests.web.guest import ORIGIN, Guest


@pytest.mark.parametrize(
    "words", [{}, {"wsgi.input_terminated": False}, {"wsgi.input_terminated": True}]
)
def test_a_ballot_that_breaks_off_is_not_taken(
    app: Flask, at: Workplace, words: dict[str, bool]
) -> None:
    """Whatever the server says of the stream: our two do not agree."""
    known = serving(at)
    tray = trays(at, known)[0]
    guest = Guest(app)
    form = guest.get(f"/{token(at, known, tray)}").form("/t/")
    fields = [pair for pair in form.fields if pair[0] in ("csrf_token", "key")]
    given = {**answers(known, tray), "words": ("malt, hops, and a long way to the access point",)}
    fields += [(f"answer-{name}", word) for name, many in given.items() for word in many]
    whole = urlencode(fields).encode()
    path = f"{form.action.partition('?')[0]}/send"

    def sent(content: bytes) -> int:
        return guest.client.post(
            path,
            input_stream=BytesIO(content),
            content_type="application/x-www-form-urlencoded",
            headers={"Origin": ORIGIN},
            environ_overrides={**words, "CONTENT_LENGTH": str(len(whole))},
        ).status_code

    def kept() -> list[dict[str, tuple[str, ...]]]:
        with at.units.read() as session:
            return [dict(one.answers) for one in ballots.every_revision(session, known.id)]

    # Broken off in the last answer: everything that must be answered is there.
    assert sent(whole[:-20]) == 400
    assert kept() == []
    assert sent(whole) == 302
    assert kept() == [given]
