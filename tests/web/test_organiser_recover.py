"""The key from the envelope, typed in on its page."""

import secrets
from dataclasses import replace

from flask import Flask

from panel.core.allocation.written_secret import written
from panel.services.sealed_key import unwrap
from panel.services.workplace import Workplace
from panel.web import place
from tests.builders import serving
from tests.web.guest import Guest


def test_a_key_that_opens_stays_in_its_envelope(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    evening = organiser.get(f"/organise/{known.id}")
    (link,) = [link for link in evening.links if link.endswith("/recover")]
    assert "Leave the envelope shut" in organiser.get(link).text


def test_a_lost_key_is_typed_in(app: Flask, organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    with at.units.read() as session:
        words = " ".join(written(unwrap(session, at, known.id).secret))
    app.extensions[place.KEY] = replace(
        at, units=app.extensions[place.KEY].units, instance_key=secrets.token_bytes(32)
    )
    # Cookies are signed with the instance key too, so the sign-in was made before and its token is
    # only looked up; forms keep the key that the application was made with.
    page = organiser.get(f"/organise/{known.id}/recover")
    assert "is not here any more" in page.text
    slip = organiser.send(page, "/recover", words=words.replace(words[0], "Z", 1))
    assert "Something is wrong in group 1" in slip.text
    done = organiser.send(slip, "/recover", words=words)
    assert done.path == f"/organise/{known.id}"
    assert "Leave the envelope shut" in organiser.get(f"/organise/{known.id}/recover").text
