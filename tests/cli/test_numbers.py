"""The commands that answer one question: their JSON to the key, their refusals to the letter."""

import json
import subprocess
import sys
from typing import Any

import pytest
from click.testing import CliRunner
from scipy import stats

from panel.cli import panel

KEYS = {
    "critical": {"method", "tasters", "alpha", "sides", "chance", "critical_number"},
    "plan": {
        "first_tasters",
        "holding_tasters",
        "tasters",
        "critical_number",
        "power",
        "max_correct",
    },
    "tally": {
        "p_value",
        "critical_number",
        "significant",
        "proportion_correct",
        "interval",
        "discriminators",
        "discriminators_interval",
        "d_prime",
        "d_prime_interval",
        "confidence",
    },
}


def answer(line: str) -> dict[str, Any]:
    """The JSON object of a command line, checked to be all that was printed."""
    result = CliRunner().invoke(panel, [*line.split(), "--json"], catch_exceptions=False)
    assert result.exit_code == 0, result.stderr
    assert result.stdout.count("\n") == 1
    assert result.stdout.endswith("\n")
    words = json.loads(result.stdout)
    assert set(words) == KEYS[line.split()[0]]
    return words


def refused(line: str) -> str:
    """The one line on standard error of a command that is refused."""
    done = subprocess.run(
        [sys.executable, "-m", "panel", *line.split()], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2, done
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert "Traceback" not in done.stderr
    return done.stderr


def test_critical_of_forty() -> None:
    """19 of 40 at 5 %: ISO 4120 and ASTM E1885 critical-number tables for the triangle test."""
    assert answer("critical --method triangle --tasters 40") == {
        "method": "triangle",
        "tasters": 40,
        "alpha": 0.05,
        "sides": 1,
        "chance": 1 / 3,
        "critical_number": 19,
    }


def test_critical_is_null_where_no_count_reaches_alpha() -> None:
    assert answer("critical --method triangle --tasters 2")["critical_number"] is None


def test_a_tail_equal_to_alpha_reaches_it() -> None:
    """P(X = 5 of 5) = 1/32 exactly."""
    line = "critical --method duo-trio --tasters 5 --alpha 0.03125"
    assert answer(line)["critical_number"] == 5
    assert answer(line.replace("0.03125", "0.03124"))["critical_number"] is None


def test_two_out_of_five_from_a_printed_table() -> None:
    """Meilgaard, Civille & Carr, table for the two-out-of-five (from memory): 5 of 19, 6 at 1 %."""
    assert answer("critical --method two-out-of-five --tasters 19")["critical_number"] == 5
    found = answer("critical --method two-out-of-five --tasters 19 --alpha 0.01")
    assert found["critical_number"] == 6
    tally = answer("tally --method two-out-of-five --correct 9 --tasters 12")
    assert tally["p_value"] == pytest.approx(1.65835e-7, rel=1e-5)  # their example, by scipy
    plan = answer("plan --method two-out-of-five --d-prime 1")
    assert (plan["first_tasters"], plan["tasters"]) == (69, 75)


def test_two_sides_belong_to_paired() -> None:
    """Two-sided at alpha is one-sided at alpha/2 (ISO 5495)."""
    two = answer("critical --method paired --tasters 30 --sides 2")
    one = answer("critical --method paired --tasters 30 --alpha 0.025")
    preference = answer("critical --method paired-preference --tasters 30")
    assert two["critical_number"] == one["critical_number"] == preference["critical_number"] == 21
    assert (two["sides"], one["sides"], preference["sides"]) == (2, 1, 2)


def test_plan_of_a_triangle() -> None:
    """n = 40 first, 42 holding at pd 30 %: recomputed with scipy here, power beside it."""
    found = answer("plan --method triangle --pd 0.3")
    assert found["first_tasters"] == 40
    assert found["tasters"] == found["holding_tasters"] == 42
    critical = found["critical_number"]
    pc = 0.3 + 0.7 / 3
    assert stats.binom.sf(critical - 1, 42, 1 / 3) <= 0.05
    assert found["power"] == pytest.approx(stats.binom.sf(critical - 1, 42, pc), rel=1e-12)
    assert found["max_correct"] is None


def test_plan_by_d_prime_and_for_similarity() -> None:
    assert answer("plan --method tetrad --d-prime 1")["first_tasters"] == 61
    alike = answer("plan --method triangle --aim similarity --pd 0.3 --beta 0.05 --alpha 0.1")
    n, most = alike["tasters"], alike["max_correct"]
    pc = 0.3 + 0.7 / 3
    assert stats.binom.cdf(most, n, pc) <= 0.05 < stats.binom.cdf(most + 1, n, pc)
    assert alike["power"] == pytest.approx(stats.binom.cdf(most, n, 1 / 3), rel=1e-12)


def test_tally_of_a_difference() -> None:
    found = answer("tally --method triangle --correct 19 --tasters 40")
    low, high = stats.binomtest(19, 40).proportion_ci(0.95, "exact")
    assert found["p_value"] == pytest.approx(stats.binom.sf(18, 40, 1 / 3), rel=1e-12)
    assert found["critical_number"] == 19
    assert found["significant"] is True
    assert found["interval"] == pytest.approx([low, high], rel=1e-9)
    assert found["discriminators"] == pytest.approx((19 / 40 - 1 / 3) * 1.5)
    assert found["discriminators_interval"] == pytest.approx(
        [(low - 1 / 3) * 1.5, (high - 1 / 3) * 1.5], rel=1e-9
    )
    assert found["d_prime_interval"][0] == 0


def test_tally_at_the_ends() -> None:
    everybody = answer("tally --method triangle --correct 10 --tasters 10")
    assert everybody["d_prime"] is None
    assert everybody["d_prime_interval"][1] is None
    nobody = answer("tally --method triangle --correct 0 --tasters 10")
    assert (nobody["p_value"], nobody["d_prime"]) == (1.0, 0)
    assert nobody["discriminators"] == pytest.approx(-0.5)


def test_tally_on_two_sides_is_signed() -> None:
    few = answer("tally --method paired-preference --correct 8 --tasters 30")
    many = answer("tally --method paired-preference --correct 22 --tasters 30")
    assert few["p_value"] == many["p_value"] == pytest.approx(stats.binomtest(8, 30).pvalue)
    assert few["d_prime"] == pytest.approx(-many["d_prime"])


def test_tally_of_similarity() -> None:
    found = answer(
        "tally --method triangle --correct 11 --tasters 36 --aim similarity --pd 0.3 --beta 0.05"
    )
    pc = 0.3 + 0.7 / 3
    assert found["p_value"] == pytest.approx(stats.binom.cdf(11, 36, pc), rel=1e-12)
    assert found["significant"] is (found["critical_number"] >= 11)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("critical --method triangle --tasters 0", "tasters"),
        ("critical --method triangle --tasters 100001", "tasters"),
        ("critical --method triangle --tasters 10 --alpha 1", "below 1"),
        ("critical --method triangle --tasters 10 --alpha nan", "above 0"),
        ("critical --method triangle --tasters 10 --alpha five", "not a number"),
        ("critical --method triangle --tasters 10 --sides 2", "--sides 2"),
        ("critical --method wheel --tasters 10", "wheel"),
        ("plan --method triangle", "exactly one"),
        ("plan --method triangle --pd 0.3 --d-prime 1", "exactly one"),
        ("plan --method triangle --pd 0.001", "100000"),
        ("plan --method triangle --pd 1.1", "up to 1"),
        ("tally --method triangle --correct 11 --tasters 10", "more right answers"),
        ("tally --method triangle --correct 5 --tasters 10 --aim similarity", "--pd"),
        ("tally --method triangle --correct 5 --tasters 10 --aim preference", "preference"),
        ("tally --method triangle --correct -1 --tasters 10", "correct"),
        ("taste", "taste"),
    ],
)
def test_refusals(line: str, words: str) -> None:
    assert words in refused(line)


def test_words_for_people() -> None:
    said = CliRunner().invoke(
        panel, ["tally", "--method", "triangle", "--correct", "15", "--tasters", "36"]
    )
    assert "15 of 36 right. Guessing alone would give about 12." in said.stdout
    assert "not strong evidence" in said.stdout


@pytest.mark.parametrize("command", ["critical", "plan", "tally"])
def test_help_teaches(command: str) -> None:
    said = CliRunner().invoke(panel, [command, "--help"]).stdout
    assert f"Example: panel {command}" in said


def test_help_is_light() -> None:
    """The overview loads neither the web, the database nor the numerics."""
    code = (
        "import sys; sys.argv = ['panel', '--help']\n"
        "from panel.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'flask', 'sqlalchemy', 'numpy', 'scipy', 'reportlab'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
