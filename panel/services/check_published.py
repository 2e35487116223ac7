"""Checking a published bundle or folder: it needs no installation, no database, nobody's leave."""

from pathlib import Path

from panel.catalogue import speaker
from panel.publishing.check import CheckLine, check_bundle

__all__ = ["CheckLine", "check"]


def check(source: bytes | Path, seal: str = "") -> tuple[CheckLine, ...]:
    """A line for each item; see publishing.check. seal: as somebody kept it from before serving."""
    return check_bundle(source, speaker=speaker, seal=seal)
