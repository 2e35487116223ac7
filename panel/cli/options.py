"""Options that several commands share: exact rates, methods, JSON output."""

import json
import os
from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, TypeVar

import click

from panel.core.methods import METHODS, ForcedChoice
from panel.settings import Settings, load

CHOICES = tuple(name for name, one in METHODS.items() if isinstance(one, ForcedChoice))
"""The methods whose right answers are counted against guessing: the commands on numbers are about
these."""

Function = TypeVar("Function", bound=Callable[..., Any])


class Rate(click.ParamType[Decimal]):
    """A decimal number read exactly, above 0 and below 1 (or up to 1)."""

    name = "rate"

    def __init__(self, *, one: bool = False, most: int = 1) -> None:
        self.one = one
        self.most = most

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Decimal:
        """The number, or a refusal that says the range."""
        try:
            number = value if isinstance(value, Decimal) else Decimal(str(value))
        except InvalidOperation:
            self.fail(f"“{value}” is not a number such as 0.05.", param, ctx)
        inside = number.is_finite() and 0 < number <= self.most
        if not inside or (number == self.most and not self.one):
            end = f"up to {self.most}" if self.one else f"below {self.most}"
            self.fail(f"{value} is outside its range: it must be above 0 and {end}.", param, ctx)
        return number


def method_option(function: Function) -> Function:
    """--method."""
    return click.option(
        "--method",
        required=True,
        type=click.Choice(CHOICES),
        help="The test: what is on the tray and what is asked.",
    )(function)


def alpha_option(function: Function) -> Function:
    """--alpha."""
    return click.option(
        "--alpha",
        type=Rate(),
        default="0.05",
        show_default=True,
        help="Alpha risk: how often guessing alone may look like a difference.",
    )(function)


def sides_option(function: Function) -> Function:
    """--sides."""
    return click.option(
        "--sides",
        type=click.Choice(("1", "2")),
        default=None,
        help="paired alone: 1 if you said beforehand which drink has more, 2 if not. Default 1; "
        "paired-preference is always 2.",
    )(function)


def json_option(function: Function) -> Function:
    """--json."""
    return click.option("--json", "as_json", is_flag=True, help="Print exactly one JSON object.")(
        function
    )


def sides_for(method: str, sides: str | None) -> int:
    """The sides of a test, or a usage error where the method has no choice."""
    allowed = METHODS[method].sides
    chosen = allowed[0] if sides is None else int(sides)
    if chosen not in allowed and not (chosen == 1 and 1 in allowed):
        raise click.UsageError(
            f"--sides {chosen} cannot be used with {method}: "
            + (
                "a preference is always tested on both sides."
                if allowed == (2,)
                else "only paired can be tested on two sides."
            )
        )
    return chosen


def print_json(values: dict[str, Any]) -> None:
    """One JSON object and a newline, UTF-8, on standard output."""
    click.echo(json.dumps(values, ensure_ascii=False, allow_nan=False))


def instance_option(function: Function) -> Function:
    """--instance."""
    return click.option(
        "--instance",
        type=click.Path(path_type=Path, file_okay=False),
        help="The folder of this installation. [default: instance]",
    )(function)


def settings_from(
    instance: Path | None, *, alone: bool = False, **typed: str | int | None
) -> Settings:
    """The settings of an installation, with what the command line says on top.

    alone: no variable of the surroundings counts, as for an invented evening in a folder of its
    own.
    """
    given = {f"PANEL_{name.upper()}": str(one) for name, one in typed.items() if one is not None}
    surroundings = {} if alone else dict(os.environ)
    return load({**surroundings, **given}, instance)
