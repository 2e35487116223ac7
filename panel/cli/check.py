"""`panel check`: is a published bundle what it says?"""

import sys
from pathlib import Path

import click

from panel.cli.options import json_option, print_json
from panel.services import check_published
from panel.services.check_published import CheckLine

DOES_NOT_HOLD = 3
"""Exit status: it was checked, and something in it is wrong."""


@click.command()
@click.argument("bundle", type=click.Path(path_type=Path))
@click.option("--seal", default="", help="The seal from the poster, or its first 8 characters.")
@json_option
def check(bundle: Path, seal: str, as_json: bool) -> None:
    """Check a published result: files, seal, every tray's draw, ballots, findings, record.

    BUNDLE is bundle.zip, its unpacked folder, or the folder that `panel publish` wrote. Nothing is
    asked of any server. The exit status is 0 only if everything holds, 3 if something is wrong.

    \b
    Example: panel check bundle.zip --seal "1f0c 77e2"
    """
    lines = check_published.check(bundle, seal)
    if as_json:
        print_json(_words(lines))
    else:
        for line in lines:
            click.echo(f"{'holds' if line.holds else 'WRONG'}  {line.item}: {line.message}")
        click.echo(_verdict(lines, seal))
    if not all(line.holds for line in lines):
        sys.exit(DOES_NOT_HOLD)


def _verdict(lines: tuple[CheckLine, ...], seal: str) -> str:
    bad = sum(not line.holds for line in lines)
    if bad:
        return f"{bad} of {len(lines)} lines are wrong. Do not believe this result as it is."
    if not seal:
        return "Everything holds. That the seal was shown before serving only the poster can say."
    return "Everything holds, and the seal is the one you typed."


def _words(lines: tuple[CheckLine, ...]) -> dict[str, object]:
    return {
        "holds": all(line.holds for line in lines),
        "lines": [
            {"item": line.item, "holds": line.holds, "message": str(line.message)} for line in lines
        ],
    }
