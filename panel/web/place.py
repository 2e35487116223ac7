"""What a request finds in its application."""

from typing import cast

from flask import current_app

from panel.services.workplace import Workplace

KEY = "panel"


def at() -> Workplace:
    """The workplace this application was made with."""
    return cast(Workplace, current_app.extensions[KEY])


def over_https() -> bool:
    """Whether people reach this service by https, as the settings' address says."""
    return at().settings.address.startswith("https://")
