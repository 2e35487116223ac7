"""`panel forget`: what names people is erased, counts and records stay."""

from pathlib import Path

import click

from panel.cli.local import OPERATOR, chosen, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.services import forget as service
from panel.services.workplace import Workplace

BACKUPS = "Backups made before still hold it: delete those you do not need."


@click.command()
@click.argument("comparison", required=False)
@click.option("--card", default="", help="One taster's card alone, such as 17K.")
@click.option("--account", help="Instead: the name somebody signs in with.")
@click.option("--due", is_flag=True, help="Instead: all that the setting erase_after_days says.")
@click.option("--yes", is_flag=True, help="Do not ask first.")
@instance_option
def forget(
    comparison: str | None,
    card: str,
    account: str | None,
    due: bool,
    yes: bool,
    instance: Path | None,
) -> None:
    """Erase nicknames, notes, free words and card pictures of a comparison, or an account's name.

    COMPARISON is its id, or how its title begins. What was answered and counted stays, and so does
    the record, which holds no names. It cannot be undone.

    \b
    Example: panel forget "Brown ale" --card 17K
    """
    if sum((comparison is not None, account is not None, due)) != 1 or (card and not comparison):
        raise click.UsageError("Name a comparison (and perhaps --card), or --account, or --due.")
    with workplace_at(settings_from(instance)) as at:
        if due:
            done = service.erase_due(at)
            click.echo(f"Erased in {len(done)} comparisons whose days are over.")
        elif account is not None:
            _sure(f"the name “{account}”", yes)
            service.forget_account(at, OPERATOR, account)
            click.echo(f"Erased. {BACKUPS}")
        else:
            _tasters(at, comparison or "", card, yes)


def _tasters(at: Workplace, comparison: str, card: str, yes: bool) -> None:
    known = chosen(at, comparison)
    where = f"card {card} of “{known.title}”" if card else f"“{known.title}”"
    _sure(f"nicknames, notes, free words and card pictures of {where}", yes)
    erased = service.forget_tasters(at, OPERATOR, known.id, card)
    click.echo(
        f"Erased: nicknames or notes of {erased.trays} trays, free words of {erased.words} "
        f"ballots, {erased.pictures} pictures of cards. {BACKUPS}"
    )


def _sure(what: str, yes: bool) -> None:
    if not yes:
        click.confirm(f"Erase {what} for good?", abort=True)
