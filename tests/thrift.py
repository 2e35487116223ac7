"""What many tests would make anew and could not tell apart: compiled templates, an empty schema.

Each is made once in a process, by the program itself, and handed out as it is.
"""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Flask
from jinja2.bccache import Bucket, BytecodeCache
from sqlalchemy import make_url

from panel.store.migrations import upgrade
from panel.store.session import Units, make_engine

QUICK_METHOD = "scrypt:1024:8:1"
"""A password kept at a 128th of the real cost, which tests/services/test_passwords.py pays."""

QUICK_PASSWORDS = {"METHOD": QUICK_METHOD, "UNKNOWN": f"{QUICK_METHOD}$unknown${'0' * 128}"}
"""What stands in `passwords` while passwords are quick."""


class Compiled(BytecodeCache):
    """Templates of one application for the next one's: they are the same files. Known by their
    name and text, so that a changed template is compiled anew."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        kept = self._kept.get(bucket.key + bucket.checksum)
        if kept is not None:
            bucket.bytecode_from_string(kept)

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._kept[bucket.key + bucket.checksum] = bucket.bytecode_to_string()


def share_templates() -> None:
    """From now on every application of this process shares what it has compiled."""
    Flask.jinja_options = {**Flask.jinja_options, "bytecode_cache": Compiled()}


def lay_schema(url: str) -> None:
    """Where a SQLite database would be begun, one that has all its tables and nothing in them."""
    known = make_url(url)
    path = Path(known.database or "")
    if known.get_backend_name() == "sqlite" and known.database and not path.exists():
        path.write_bytes(empty_database())


@cache
def empty_database() -> bytes:
    """A SQLite file as the program's own start leaves it before anything is written."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "empty.db"
        units = Units(make_engine(f"sqlite:///{path}"))
        upgrade(units.engine)
        units.close()
        return path.read_bytes()
