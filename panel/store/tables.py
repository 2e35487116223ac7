"""All tables under one base: importing this module registers every row."""

from panel.store import (
    tables_comparison,
    tables_people,
    tables_reading,
    tables_record,
    tables_serving,
)
from panel.store.base import Base

__all__ = [
    "Base",
    "tables_comparison",
    "tables_people",
    "tables_reading",
    "tables_record",
    "tables_serving",
]
