"""docs/security.md from its table and from the numbers of the program.

`.venv/bin/python -m tests.docs.security_page` writes it anew. Its words are security_head.md, its
table is asvs.csv, both beside this file: every requirement of levels 1 and 2 of the OWASP
Application Security Verification Standard 5.0.0, and four of level 3, by id. What is asked stands
in the standard (CC BY-SA 4.0), not here.
"""

import csv
from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from panel.app import FORM_LIFE, LARGEST_FORM, LARGEST_REQUEST, MEGABYTE, MOST_FIELDS
from panel.scanning.apart import LIMITS
from panel.scanning.pages import MOST_PAGES, MOST_PIXELS
from panel.services import invite, passwords, sign_in
from panel.settings import Settings
from panel.web import door, limits, organiser_reading, steward_photos

PAGE = Path(__file__).parents[2] / "docs" / "security.md"
TABLE = Path(__file__).with_name("asvs.csv")
HEAD = Path(__file__).with_name("security_head.md")
METHOD = passwords.METHOD
"""As the program has it, not as tests make it quick while they run."""

STANDARD = "https://github.com/OWASP/ASVS/tree/v5.0.0"
VERDICTS = ("met", "not applicable", "not met")
CHAPTERS = {
    1: "Encoding and injection", 2: "Validation and the order of things", 3: "What browsers do",
    4: "Requests", 5: "Files", 6: "Passwords and links", 7: "Sign-ins", 8: "Who may what",
    9: "Signed tokens", 10: "OAuth", 11: "Cryptography", 12: "TLS", 13: "Configuration",
    14: "Data", 15: "Code and libraries", 16: "Logs and errors", 17: "WebRTC",
}  # fmt: skip


@dataclass(frozen=True)
class Requirement:
    """One line of the table: verdict is one of VERDICTS, tests are node ids under tests/."""

    id: str
    level: int
    verdict: str
    because: str
    tests: tuple[str, ...]

    @property
    def chapter(self) -> int:
        return int(self.id.split(".")[0])


def requirements() -> tuple[Requirement, ...]:
    """The table, in the order of the standard."""
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return tuple(
            Requirement(
                row["id"], int(row["level"]), row["verdict"], row["because"],
                tuple(row["tests"].split()),
            )
            for row in csv.DictReader(lines)
        )  # fmt: skip


def page() -> str:
    """docs/security.md as it should be."""
    every = requirements()
    parts = [
        HEAD.read_text(encoding="utf-8").format(**numbers()),
        _counts(every),
        "## What is not met, and why\n",
    ]
    parts.append("| | level | because |\n|---|---|---|")
    unmet = (one for one in every if one.verdict == VERDICTS[2])
    parts += [f"| {one.id} | {one.level} | {one.because} |" for one in unmet]
    parts.append("")
    for chapter, title in CHAPTERS.items():
        parts += [f"## {chapter} {title}\n", "| | level | | because | proved by |"]
        parts.append("|---|---|---|---|---|")
        parts += [_row(one) for one in every if one.chapter == chapter]
        parts.append("")
    return "\n".join(parts)


def _counts(every: tuple[Requirement, ...]) -> str:
    lines = [
        "## How much is met\n",
        "| level | met | not applicable | not met |",
        "|---|---|---|---|",
    ]
    for level in (1, 2, 3):
        found = Counter(one.verdict for one in every if one.level == level)
        cells = " | ".join(str(found[verdict]) for verdict in VERDICTS)
        lines.append(f"| {level}{', four of 92' if level == 3 else ''} | {cells} |")
    return "\n".join([*lines, ""])


def _row(one: Requirement) -> str:
    names = (test.split("::") for test in one.tests)
    proofs = "<br>".join(f"`tests/{path}` `{name}`" for path, name in names) or "–"
    return f"| {one.id} | {one.level} | {one.verdict} | {one.because} | {proofs} |"


def numbers() -> dict[str, object]:
    """What the page says of the program in figures."""
    return {
        "standard": STANDARD,
        "idle": _minutes(sign_in.IDLE), "absolute": _hours(sign_in.ABSOLUTE),
        "tries": sign_in.TRIES, "within": _minutes(sign_in.TRIES_WITHIN),
        "link": _hours(invite.LINK_LASTS), "set_up": _hours(sign_in.LINK_LASTS),
        "card": _days(timedelta(seconds=door.CARD_KEPT)),
        "form": _hours(timedelta(seconds=FORM_LIFE)),
        "method": METHOD, "shortest": passwords.SHORTEST,
        "advised": passwords.ADVISED, "longest": passwords.LONGEST,
        "sign_ins": limits.SIGN_INS, "codes": limits.WRONG_SHORT_CODES,
        "ballots": limits.BALLOTS_OF_ONE_TRAY, "flood": limits.FROM_ONE_ADDRESS,
        "passphrases": limits.PASSPHRASES,
        "request": LARGEST_REQUEST // MEGABYTE, "fields": MOST_FIELDS,
        "form_size": LARGEST_FORM // 1024, "files": steward_photos.MOST_FILES,
        "computing": LIMITS.computing, "waiting": LIMITS.waiting,
        "memory": LIMITS.memory // MEGABYTE, "pages": MOST_PAGES,
        "pixels": MOST_PIXELS // 1_000_000,
        "line": organiser_reading.LINE, "erase": Settings.erase_after_days,
    }  # fmt: skip


def _minutes(span: timedelta) -> int:
    return int(span.total_seconds() // 60)


def _hours(span: timedelta) -> int:
    return int(span.total_seconds() // 3600)


def _days(span: timedelta) -> int:
    return span.days


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
