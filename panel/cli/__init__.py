"""The command line: `panel COMMAND …`. Imports stay light so that `panel --help` answers at once."""

import sys

import click

from panel import __version__
from panel.cli import demo, host, kit, numbers, publish
from panel.core.errors import PanelError

USER, PROGRAM = 2, 1
"""Exit statuses: what was asked cannot be done; the program itself failed."""


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96})
@click.version_option(__version__, prog_name="panel")
def panel() -> None:
    """Plan, draw, print, serve, count and publish an honest difference test of two drinks.

    Start with `panel demo` to see a whole evening, or with `panel host` to run your own. `panel
    plan`, `panel critical` and `panel tally` answer one question each and need no database.
    """


for command in (
    host.host,
    demo.demo,
    numbers.plan,
    numbers.critical,
    kit.kit,
    numbers.tally,
    publish.publish,
):
    panel.add_command(command)


def main() -> None:
    """Runs a command; a refusal is one line on standard error and exit status 2."""
    try:
        panel.main(standalone_mode=False)
    except click.exceptions.Abort:
        sys.exit(130)
    except click.ClickException as refusal:
        _say_and_leave(refusal.format_message(), USER)
    except PanelError as refusal:
        _say_and_leave(str(refusal.message), USER)
    except BrokenPipeError:
        sys.exit(PROGRAM)
    except Exception as failure:
        _say_and_leave(
            f"Panel itself failed ({type(failure).__name__}: {failure}). Nothing you typed is to "
            "blame; please report this with the command.",
            PROGRAM,
        )


def _say_and_leave(sentence: str, status: int) -> None:
    click.echo(f"panel: {' '.join(sentence.split())}", err=True)
    sys.exit(status)
