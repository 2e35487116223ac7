"""The tables of docs/bundle.md, written from the columns that the program writes.

`.venv/bin/python -m tests.docs.bundle_page` writes them anew.
"""

from collections.abc import Iterator
from pathlib import Path

from panel.publishing.bundle import ABOUT, ABOUT_DRAW
from panel.publishing.bundle_columns import Column, Table, all_tables

PAGE = Path(__file__).parents[2] / "docs" / "bundle.md"
BEGIN, END = "<!-- columns -->\n", "<!-- /columns -->\n"


def renewed(page: str) -> str:
    """The page with the files and columns between its two marks."""
    before, rest = page.split(BEGIN)
    _, after = rest.split(END)
    made = "".join(f"{line}\n" for line in _lines())
    return f"{before}{BEGIN}{made}{END}{after}"


def _lines() -> Iterator[str]:
    yield from ("| file | |", "|---|---|")
    for name, about in ABOUT.items():
        yield f"| `{name}` | {about} |"
    yield f"| `draw/` and a sitting's id | {ABOUT_DRAW} |"
    for table in all_tables():
        yield f"| `{table.name}.csv` | {table.about} |"
    for table in all_tables():
        yield from _columns(table)


def _columns(table: Table) -> Iterator[str]:
    yield from ("", f"## {table.name}.csv")
    yield f"One row for each {' and '.join(f'`{name}`' for name in table.key)}."
    yield from ("", "| column | type | |", "|---|---|---|")
    for column in table.columns:
        yield f"| `{column.name}` | {_kind(column)} | {column.about}{_words(column)} |"


def _kind(column: Column) -> str:
    return column.type if column.required else f"{column.type}, may be empty"


def _words(column: Column) -> str:
    if not column.words or "`" in column.about:
        return ""
    return f" One of {', '.join(f'`{word}`' for word in column.words)}."


if __name__ == "__main__":
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
