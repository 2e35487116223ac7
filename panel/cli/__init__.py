"""The command line: `panel COMMAND …`.

A command's module is loaded when the command is used, so that `panel --help` answers at once and
`panel critical` needs no web server.
"""

import sys
from importlib import import_module

import click

from panel import __version__
from panel.core.errors import PanelError

USER, PROGRAM = 2, 1
"""Exit statuses: what was asked cannot be done; the program itself failed. `check`,
`enter` and `read` have one more."""

COMMANDS = {
    "host": ("host", "Run the service on this machine."),
    "demo": ("demo", "Play an invented evening and look at everything it makes."),
    "rehearse": ("rehearse", "Try an evening with water; nothing of it is kept."),
    "plan": ("numbers", "How many tasters a question needs."),
    "critical": ("numbers", "The smallest number of right answers that decides."),
    "kit": ("kit", "Print the sheets of a sitting into a folder."),
    "read": ("read", "Read pictures of ballot cards into ballots."),
    "enter": ("enter", "Take ballots from a spreadsheet, all of it or nothing."),
    "tally": ("numbers", "What a count of right answers can bear."),
    "publish": ("publish", "Write a published result as one static folder."),
    "check": ("check", "Check a published result against its seal."),
    "backup": ("backup", "Copy the database as it is now, while the service runs."),
    "restore": ("backup", "Put a backup in the database's place, once it is proved."),
    "forget": ("forget", "Erase what names people; counts and records stay."),
}
"""Command to its module in this package and its line in the overview."""


class Commands(click.Group):
    """The commands of the table, loaded by name."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  click calls it so
        """In the order of the evening."""
        return list(COMMANDS)

    def get_command(
        self,
        ctx: click.Context,  # noqa: ARG002
        cmd_name: str,
    ) -> click.Command | None:
        """The command from its module; None for a name that is not in the table."""
        if cmd_name not in COMMANDS:
            return None
        found = getattr(import_module(f"{__name__}.{COMMANDS[cmd_name][0]}"), cmd_name)
        assert isinstance(found, click.Command)
        return found

    def format_commands(
        self,
        ctx: click.Context,  # noqa: ARG002
        formatter: click.HelpFormatter,
    ) -> None:
        """The overview, without loading what it lists."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_module, line) in COMMANDS.items()])


@click.command(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
    no_args_is_help=False,
    invoke_without_command=True,
)
@click.version_option(__version__, prog_name="panel")
@click.pass_context
def panel(ctx: click.Context) -> None:
    """Plan, draw, print, serve, count and publish an honest difference test of two drinks.

    Start with `panel demo` to see a whole evening, or with `panel host` to run your own. `panel
    plan`, `panel critical` and `panel tally` answer one question each and need no database.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def main() -> None:
    """Runs a command; a refusal is one line on standard error and exit status 2."""
    try:
        panel.main(prog_name="panel", standalone_mode=False)
    except click.exceptions.Abort:
        sys.exit(130)
    except click.ClickException as refusal:
        _say_and_leave(refusal.format_message(), USER)
    except PanelError as refusal:
        _say_and_leave(str(refusal.message), USER)
    except Exception as failure:
        _say_and_leave(
            f"Panel itself failed ({type(failure).__name__}: {failure}). Nothing you typed is to "
            "blame; please report this with the command.",
            PROGRAM,
        )


def _say_and_leave(sentence: str, status: int) -> None:
    click.echo(f"panel: {' '.join(sentence.split())}", err=True)
    sys.exit(status)
