"""Where seal and result of a comparison stand: on this installation, and for good."""

from panel.core.comparison import Comparison
from panel.settings import Settings


def seal_link(settings: Settings, known: Comparison) -> str:
    """The public page on this installation: the seal first, the result later."""
    return f"{settings.address.rstrip('/')}/r/{known.slug}"


def lasting_link(settings: Settings, known: Comparison) -> str:
    """Where the result stays. With the setting `lasting_address` it is the folder there that is
    named after the comparison, to which `panel publish` writes; else the page on this
    installation."""
    if not settings.lasting_address:
        return seal_link(settings, known)
    return f"{settings.lasting_address.rstrip('/')}/{known.slug}/"
