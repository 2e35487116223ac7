"""The diagram of standings in docs/lifecycle.md, drawn from the table of steps.

`.venv/bin/python -m tests.docs.standings` writes it anew.
"""

from collections.abc import Iterable
from pathlib import Path

from panel.core.lifecycle import STEPS, Step

PAGE = Path(__file__).parents[2] / "docs" / "lifecycle.md"
BEGIN, END = "<!-- steps -->\n", "<!-- /steps -->\n"


def diagram(steps: Iterable[Step]) -> str:
    """A Mermaid state diagram: an arrow for every step from every standing it may be taken in."""
    lines = ["```mermaid", "stateDiagram-v2", "    [*] --> drafted"]
    for step in steps:
        lines += [f"    {one} --> {step.target or one}: {step.name}" for one in step.sources]
    return "\n".join([*lines, "    published --> [*]", "```\n"])


def renewed(page: str) -> str:
    """The page with the diagram between its two marks."""
    before, rest = page.split(BEGIN)
    _, after = rest.split(END)
    return f"{before}{BEGIN}{diagram(STEPS.values())}{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
