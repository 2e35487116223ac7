"""`panel backup` and `panel restore`: the database to files, and back."""

from pathlib import Path

import click

from panel.cli.local import OPERATOR, workplace_at
from panel.cli.options import instance_option, settings_from
from panel.services import back_up


@click.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    help="A new folder, or one new file if its name ends in .zip.",
)
@instance_option
def backup(out: Path, instance: Path | None) -> None:
    """Copy the database as it is at one moment, with a manifest of hashes and counts.

    The service may run meanwhile. The file instance.key and settings.toml are not in it: keep a
    copy of both somewhere else.

    \b
    Example: panel backup --out evening.zip
    """
    with workplace_at(settings_from(instance)) as at:
        manifest = back_up.back_up(at, OPERATOR, out)
    rows = sum(manifest.counts.values())
    click.echo(f"{out}: {rows} rows, {manifest.counts.get('ballot', 0)} ballots among them.")
    click.echo("instance.key is not in it: keep a copy of that file somewhere else.")


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@click.option(
    "--replace",
    is_flag=True,
    help="Although there are comparisons or people in the database; they are kept in backups.",
)
@instance_option
def restore(source: Path, replace: bool, instance: Path | None) -> None:
    """Put a backup in the database's place, once everything in it is proved.

    SOURCE is what `panel backup` wrote. Stop the service first. Nothing is changed if the backup
    is damaged, if a newer Panel wrote it, or if there is anything in the database already.
    Everybody signs in anew afterwards, and links that were not used are made anew.

    \b
    Example: panel restore evening.zip --instance instance
    """
    settings = settings_from(instance)
    done = back_up.restore(source, settings, replace=replace)
    manifest = done.manifest
    click.echo(
        f"Restored as of {manifest.made}: {manifest.counts.get('ballot', 0)} ballots, "
        f"{len(manifest.heads)} records, all whole."
    )
    click.echo(
        "Nobody is signed in and no link works any more: sign in with the passwords of that moment "
        "and make new links for those who serve. Cards stay good."
    )
    if done.kept is not None:
        click.echo(f"What was there before is {done.kept}.")
    if not done.key_fits:
        click.echo(
            f"Mind: {settings.instance} does not hold the instance.key that this database was made "
            "with. Put the copy there that you keep apart; until then the service does not start."
        )
