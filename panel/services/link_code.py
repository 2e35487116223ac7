"""A link as a picture that a phone can read off another screen."""

from panel.core.drawing import Drawing
from panel.printing.link_code import link_code


def drawn(address: str, title: str = "") -> Drawing:
    """The QR code of an address. title: what it is, for those who cannot see it."""
    return link_code(address, title)
