"""`panel critical`, `panel plan`, `panel tally`: one question, one answer, no database."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import click

from panel.cli.options import (
    Rate,
    alpha_option,
    json_option,
    method_option,
    print_json,
    sides_for,
    sides_option,
)
from panel.core import statistics
from panel.core.methods import ForcedChoice, forced_choice

TASTERS = click.IntRange(1, 100_000)
AIMS = click.Choice(("difference", "similarity", "preference"))


@click.command()
@method_option
@click.option("--tasters", type=TASTERS, required=True, help="How many ballots are counted.")
@alpha_option
@sides_option
@json_option
def critical(method: str, tasters: int, alpha: Decimal, sides: str | None, as_json: bool) -> None:
    """The smallest number of right answers that guessing alone would hardly give.

    \b
    Example: panel critical --method triangle --tasters 40
    """
    known, side_count = forced_choice(method), sides_for(method, sides)
    number = statistics.critical_number(tasters, known.chance, alpha, side_count)
    if as_json:
        print_json(
            {
                "method": method,
                "tasters": tasters,
                "alpha": float(alpha),
                "sides": side_count,
                "chance": float(known.chance),
                "critical_number": number,
            }
        )
    elif number is None:
        click.echo(f"With {tasters} tasters no count is convincing at alpha {alpha}.")
    else:
        click.echo(
            f"{number} of {tasters} right answers show a difference at alpha {alpha}. "
            f"Guessing alone would give about {_about(tasters * known.chance)}."
        )


@click.command()
@method_option
@click.option("--aim", type=AIMS, default="difference", show_default=True, help="What to show.")
@alpha_option
@click.option(
    "--beta",
    type=Rate(),
    default="0.2",
    show_default=True,
    help="Beta risk: how often a difference of that size may be missed.",
)
@click.option(
    "--pd",
    type=Rate(one=True),
    help="The smallest share of people truly telling the drinks apart that matters, e.g. 0.3.",
)
@click.option("--d-prime", type=Rate(one=True, most=10), help="The same as a d-prime, instead.")
@sides_option
@json_option
def plan(
    method: str,
    aim: str,
    alpha: Decimal,
    beta: Decimal,
    pd: Decimal | None,
    d_prime: Decimal | None,
    sides: str | None,
    as_json: bool,
) -> None:
    """How many tasters a question needs.

    Prints the first number that is enough, as the standards' tables do, and the number from which
    on more tasters never make it worse: that one is recommended, because power climbs like a saw.

    \b
    Example: panel plan --method triangle --pd 0.3
    """
    known, side_count = forced_choice(method), sides_for(method, sides)
    _check_aim(known, aim)
    if (pd is None) == (d_prime is None):
        raise click.UsageError("Give exactly one of --pd and --d-prime.")
    pc = (
        statistics.pc_at_pd(known.chance, pd)
        if pd is not None
        else statistics.pc_at_d_prime(known.link, d_prime or Decimal(0))
    )
    if aim == "similarity":
        limit = statistics.SimilarityLimit(pc, beta)
        found = statistics.plan_similarity(known.chance, alpha, limit, side_count)
    else:
        found = statistics.plan_difference(known.chance, alpha, beta, pc, side_count)
    if as_json:
        print_json(
            {
                "first_tasters": found.first_tasters,
                "holding_tasters": found.holding_tasters,
                "tasters": found.tasters,
                "critical_number": found.critical_number,
                "power": found.power,
                "max_correct": found.max_correct,
            }
        )
        return
    click.echo(
        f"{found.tasters} tasters; from there on more tasters never make it worse. "
        f"(The first number that is enough, as tables print it: {found.first_tasters}.)"
    )
    if aim == "similarity":
        click.echo(
            f"At most {found.max_correct} right answers would show similarity; if nobody can "
            f"tell, that happens {found.power:.1%} of the time."
        )
    else:
        click.echo(
            f"{found.critical_number} right answers decide; a difference of this size is found "
            f"{found.power:.1%} of the time."
        )


@click.command()
@method_option
@click.option("--correct", type=click.IntRange(min=0), required=True, help="Right answers.")
@click.option("--tasters", type=TASTERS, required=True, help="Counted ballots, one a taster.")
@alpha_option
@click.option(
    "--confidence", type=Rate(), default="0.95", show_default=True, help="Of every interval."
)
@click.option("--aim", type=AIMS, default="difference", show_default=True, help="What to show.")
@click.option("--pd", type=Rate(one=True), help="Similarity: the largest share that is harmless.")
@click.option("--beta", type=Rate(), default="0.2", show_default=True, help="Similarity: its risk.")
@sides_option
@json_option
def tally(
    method: str,
    correct: int,
    tasters: int,
    alpha: Decimal,
    confidence: Decimal,
    aim: str,
    pd: Decimal | None,
    beta: Decimal,
    sides: str | None,
    as_json: bool,
) -> None:
    """What a count of right answers can bear.

    With two sides (paired --sides 2, paired-preference) --correct counts the choices of one named
    drink. Each ballot must be another taster's; repeats of one taster are not tasters.

    \b
    Example: panel tally --method triangle --correct 19 --tasters 40
    """
    known, side_count = forced_choice(method), sides_for(method, sides)
    _check_aim(known, aim)
    if correct > tasters:
        raise click.UsageError(
            f"There cannot be more right answers ({correct}) than tasters ({tasters})."
        )
    limit = _limit(known, aim, pd, beta)
    found = statistics.tally_count(
        correct,
        tasters,
        known.link,
        alpha=alpha,
        sides=side_count,
        confidence=confidence,
        limit=limit,
    )
    if as_json:
        print_json(_tally_words(found))
        return
    click.echo(
        f"{correct} of {tasters} right. Guessing alone would give about "
        f"{_about(tasters * known.chance)}."
    )
    click.echo(_verdict(found, aim))
    low, high = found.discriminators_interval.low, found.discriminators_interval.high
    click.echo(
        f"The votes fit anything from {max(0, low):.0%} to {max(0, high):.0%} of such tasters "
        f"truly telling the two apart ({float(confidence) * 100:g}% interval)."
    )


def _check_aim(method: ForcedChoice, aim: str) -> None:
    if (aim == "preference") and method.sides != (2,):
        raise click.UsageError(f"--aim preference belongs to paired-preference, not {method.id}.")


def _limit(
    method: ForcedChoice, aim: str, pd: Decimal | None, beta: Decimal
) -> "statistics.SimilarityLimit | None":
    if aim != "similarity":
        return None
    if pd is None:
        raise click.UsageError(
            "--aim similarity needs --pd: the largest share of people telling them apart that "
            "would still be harmless."
        )
    pc: Fraction = statistics.pc_at_pd(method.chance, pd)
    return statistics.SimilarityLimit(pc, beta)


def _tally_words(found: "statistics.Tally") -> dict[str, Any]:
    return {
        "p_value": found.p_value,
        "critical_number": found.critical_number,
        "significant": found.significant,
        "proportion_correct": found.proportion_correct,
        "interval": [found.interval.low, found.interval.high],
        "discriminators": found.discriminators,
        "discriminators_interval": [
            found.discriminators_interval.low,
            found.discriminators_interval.high,
        ],
        "d_prime": found.d_prime,
        "d_prime_interval": [found.d_prime_interval.low, found.d_prime_interval.high],
        "confidence": found.confidence,
    }


def _verdict(found: "statistics.Tally", aim: str) -> str:
    p = "less than 0.001" if found.p_value < 0.001 else f"{found.p_value:.3f}"
    if found.critical_number is None:
        return f"With so few ballots no count decides: this is a count and no verdict (p {p})."
    if aim == "similarity":
        return (
            f"Few enough to show similarity within the limit (p {p}, at most "
            f"{found.critical_number})."
            if found.significant
            else f"Not few enough to show similarity (p {p}, at most {found.critical_number})."
        )
    return (
        f"That is strong evidence of a difference (p {p}, {found.critical_number} needed)."
        if found.significant
        else f"That is not strong evidence of a difference (p {p}, {found.critical_number} needed)."
    )


def _about(count: Fraction) -> str:
    return f"{float(count):.3g}"
