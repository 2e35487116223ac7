"""`panel enter`: ballots from a spreadsheet, all of a file or nothing."""

from collections import Counter
from pathlib import Path

import click

from panel.cli.local import OPERATOR, chosen, content, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.core.comparison import Comparison
from panel.core.errors import RefusalsError
from panel.core.reconcile import Copy
from panel.services.enter_ballots import empty_sheet_of, enter_ballots
from panel.services.workplace import Workplace

REFUSED = 3
"""Exit status: something in the file is not right, and nothing of it was taken."""


@click.command()
@click.argument("comparison")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--empty", is_flag=True, help="Write an empty sheet there, to be filled in.")
@instance_option
@click.pass_context
def enter(
    ctx: click.Context, comparison: str, file: Path, empty: bool, instance: Path | None
) -> None:
    """Take ballots from a spreadsheet saved as CSV in UTF-8.

    COMPARISON is its id, or how its title begins. Row 1 of FILE names the columns: card, and the
    ids of the plan's questions; --empty writes such a file, with a row for every card. Every row is
    checked like a card that is keyed in. If one is not right, each reason is told by row and
    column, nothing is taken, and the exit status is 3.

    \b
    Example: panel enter "Brown ale" ballots.csv
    """
    with workplace_at(settings_from(instance)) as at:
        known = chosen(at, comparison)
        if empty:
            _write_empty(at, known, file)
            return
        try:
            entered = enter_ballots(at, OPERATOR, known.id, content(file))
        except RefusalsError as refused:
            for one in refused.refusals:
                click.echo(str(one.message), err=True)
            click.echo("Nothing of this file was taken.", err=True)
            ctx.exit(REFUSED)
    receipts = entered.receipts
    count = Counter(one.copy for one in receipts)
    same = count[Copy.SAME]
    click.echo(
        f"{len(receipts) - same} ballots taken, {same} were in already, "
        f"{count[Copy.QUESTION]} in question, {sum(one.late for one in receipts)} late."
    )
    if entered.without_answers:
        click.echo(f"{entered.without_answers} rows hold a card's number alone: passed over.")


def _write_empty(at: Workplace, known: Comparison, file: Path) -> None:
    sheet = empty_sheet_of(at, OPERATOR, known.id, (one.id for one in known.sittings))
    try:
        with file.open("xb") as out:  # never over a sheet that is filled in
            out.write(sheet)
    except OSError as failure:
        raise click.ClickException(
            f"{file} cannot be written: {failure.strerror}. Name a file that is not there yet."
        ) from failure
    click.echo(f"{file} has a row for every card.")
