"""What is kept of a taster, said before anybody answers, with a mark of its own wording.

The mark changes with the words, so that it can be said afterwards which of them somebody was shown.
"""

import hashlib
from collections.abc import Iterable

from flask import Blueprint, render_template
from flask.typing import ResponseReturnValue

from panel.core.message import Message, say
from panel.web.place import at

pages = Blueprint("public_privacy", __name__, url_prefix="/privacy")

MARK = 8
"""Characters of a wording's mark."""


def notice(erase_after_days: int) -> tuple[Message, ...]:
    """The notice, a paragraph each."""
    return (
        say(
            "Your ballot is kept: what you answered and when it came. It is counted and published "
            "without a name. Who tastes does so by their own choice and may stop at any time, "
            "without a reason."
        ),
        say(
            "Nobody needs your name. If a steward notes a number or a nickname with your tray, you "
            "write something in your own words, or your paper card is photographed, those who "
            "organise and serve see it. Name, words and picture are erased %(days)s days after the "
            "result is published, or at once if you ask for it.",
            days=erase_after_days,
        ),
        say(
            "Never asked and never kept: your date of birth, your health, what you must not eat or "
            "drink and why, your e-mail, where you live, the address of your phone."
        ),
        say(
            "On your phone there is a cookie that opens your card, and your unsent ballot until it "
            "is in. “This is not my phone: forget the card here” takes both away. Nothing is "
            "loaded from anywhere else, and nobody follows you."
        ),
        say(
            "To see what is kept of you, or to have it erased, tell the organiser the number of "
            "your card. The law where you live may give you more rights than this."
        ),
    )


def mark(words: Iterable[Message]) -> str:
    """Of the wording, in English and with its values: 8 hex digits of a SHA-256."""
    text = "\n".join(str(one) for one in words)
    return hashlib.sha256(text.encode()).hexdigest()[:MARK]


@pages.get("")
def page() -> ResponseReturnValue:
    """For everybody."""
    words = notice(at().settings.erase_after_days)
    return render_template("public/privacy.html", words=words, mark=mark(words))
