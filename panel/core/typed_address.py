"""An address as people type it."""


def typed(address: str) -> str:
    """The address without its scheme, which browsers put before it, and without a stroke at its
    end."""
    return address.split("://", 1)[-1].rstrip("/")
