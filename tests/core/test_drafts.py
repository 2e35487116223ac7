"""What is refused in a draft, beside its field; and what passes can be forecast."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from panel.core.drafts import MOST_TRAYS, MOST_TRAYS_OF_ALL, check_draft, check_sitting
from panel.core.errors import RefusalsError
from panel.core.kinds import outlook_of
from panel.core.methods import METHODS
from panel.core.names import Information
from panel.core.quantities import quantities
from panel.core.turnout import with_planned_tasters
from tests.core.invented import a_comparison, a_sitting

NOT_FINITE = ("NaN", "sNaN", "-NaN", "Infinity", "-Infinity")
A, B = a_comparison().beers


def refused(comparison, sitting=None):
    """Field to sentence of every refusal."""
    try:
        check_draft(comparison, sitting)
    except RefusalsError as refusal:
        return {one.field: str(one.message) for one in refusal.refusals}
    return {}


def with_plan(**changes):
    return a_comparison(plan=replace(a_comparison().plan, **changes))


def with_serving(**changes):
    return a_comparison(serving=replace(a_comparison().serving, **changes))


def test_a_finished_draft_passes():
    assert refused(a_comparison()) == {}
    assert refused(a_comparison(sittings=()), a_sitting()) == {}


@pytest.mark.parametrize("number", NOT_FINITE)
@pytest.mark.parametrize(
    ("field", "draft"),
    [
        ("alpha", lambda number: with_plan(alpha=number)),
        ("beta", lambda number: with_plan(beta=number)),
        ("pd", lambda number: with_plan(pd=number)),
        ("d_prime", lambda number: with_plan(pd=None, d_prime=number)),
        ("temperature", lambda number: with_serving(temperature=number)),
        ("beer_b_abv", lambda number: a_comparison(beers=(A, replace(B, abv=number)))),
    ],
)
def test_what_is_no_finite_number_is_refused_in_words(field, draft, number):
    found = refused(draft(Decimal(number)))
    assert set(found) == {field}
    assert "between" in found[field] or "above 0" in found[field]


@pytest.mark.parametrize(
    ("comparison", "field", "sentence"),
    [
        (with_plan(excluded_codes=("137", "42")), "excluded_codes", "“42” is not a code"),
        (with_plan(excluded_codes=("4a2",)), "excluded_codes", "Type three digits"),
        (with_plan(expected=0), "expected", "between 1 and 100000"),
        (with_plan(expected=100_001), "expected", "between 1 and 100000"),
        (with_plan(pd=None), "pd", "Say how large a difference matters"),
        (with_plan(d_prime=Decimal(1)), "pd", "not both"),
        (with_plan(pd=None, d_prime=Decimal("20.5")), "d_prime", "at most 20"),
        (with_plan(pd=None, d_prime=Decimal("1e-12")), "d_prime", "Choose a larger one"),
        (with_plan(alpha=Decimal("1e-31")), "alpha", "at most 30 decimals"),
        (with_plan(wave_size=0), "wave_size", "waves of 6 or 12"),
        (with_plan(method="guessing"), "method", "no method called “guessing”"),
        (with_serving(container_millilitres=99), "container_millilitres", "no full cup of 50 ml"),
        (with_serving(container_millilitres=0), "container_millilitres", "between 1 and 100,000"),
        (with_serving(country="atlantis"), "country", "no unit of alcohol"),
    ],
)
def test_it_is_refused_beside_its_field(comparison, field, sentence):
    found = refused(comparison)
    assert set(found) == {field}
    assert sentence in found[field]


@pytest.mark.parametrize(
    "comparison",
    [
        with_plan(excluded_codes=(" 137 ", "666")),
        with_plan(expected=100_000),
        with_plan(expected=None),
        with_plan(pd=None, d_prime=Decimal(20)),
        with_plan(pd=Decimal(1)),
        with_serving(container_millilitres=100),
        with_serving(temperature=None),
    ],
)
def test_the_very_edges_pass(comparison):
    assert refused(comparison) == {}


def test_a_cup_that_is_refused_itself_is_not_held_against_the_container():
    assert set(refused(with_serving(millilitres=500, container_millilitres=300))) == {"millilitres"}


def test_a_blinded_sitting_is_told_nothing():
    told = "One was fermented warmer."
    with pytest.raises(RefusalsError, match="Blinded tasters are told nothing") as refusal:
        check_sitting(a_sitting(told=told), a_comparison(sittings=()))
    assert [one.field for one in refusal.value.refusals] == ["told"]
    informed = a_sitting(told=told, information=Information.INFORMED)
    check_sitting(informed, a_comparison(sittings=()))
    check_sitting(a_sitting(told="  "), a_comparison(sittings=()))


@pytest.mark.parametrize(("more", "passes"), [(0, True), (1, False)])
def test_all_sittings_together_have_card_numbers(more, passes):
    """4999 trays and as many spares: 9998 card numbers of 9999."""
    others = tuple(
        a_sitting(id=f"sitting{place:05}", name=f"Evening {place}", planned=MOST_TRAYS)
        for place in range(2)
    )
    last = a_sitting(name="The last", planned=MOST_TRAYS_OF_ALL - 2 * MOST_TRAYS + more)
    found = refused(a_comparison(sittings=others), last)
    assert set(found) == (set() if passes else {"planned"})


EDGES = st.sampled_from(
    [*NOT_FINITE, "-1", "0", "1e-31", "1e-30", "1e-12", "0.3", "0.999", "1", "4.5", "20", "21"]
).map(Decimal)
WHOLE = st.sampled_from([-1, 0, 1, 10, 99, 100, 200, 300, 100_000, 100_001])


def changes(**fields):
    """A few of these fields, each with one of its values."""
    known = sorted(fields)
    return st.lists(st.sampled_from(known), max_size=2, unique=True).flatmap(
        lambda names: st.fixed_dictionaries({name: fields[name] for name in names})
    )


PLANS = changes(
    method=st.sampled_from(["guessing", *METHODS]),
    alpha=EDGES,
    beta=EDGES,
    pd=EDGES,
    expected=WHOLE,
    wave_size=st.sampled_from([0, 6, 12]),
) | st.fixed_dictionaries({"pd": st.none(), "d_prime": EDGES})
SERVINGS = changes(
    millilitres=WHOLE,
    temperature=EDGES,
    container_millilitres=WHOLE,
    country=st.sampled_from(["uk", "atlantis"]),
)


STRENGTHS = st.sampled_from(["0", "1e-30", "5.0", "100", "NaN"]).map(Decimal)


@settings(deadline=None, max_examples=100)
@given(PLANS, SERVINGS, STRENGTHS, st.sampled_from([1, 24, MOST_TRAYS]))
@example({"beta": Decimal("1e-30")}, {}, Decimal(5), 24)
@example({"pd": Decimal("1e-30"), "alpha": Decimal("1e-30")}, {}, Decimal(5), 24)
@example({"expected": 100_000}, {"millilitres": 10, "container_millilitres": 60}, Decimal(5), 1)
def test_what_passes_can_be_forecast(plan, serving, abv, planned):
    """Whatever is typed: refused in words, or reckoned with."""
    known = with_plan(**plan)
    draft = replace(
        known,
        serving=replace(known.serving, **serving),
        beers=(A, replace(B, abv=abv)),
        sittings=(),
    )
    sitting = a_sitting(planned=planned)
    if refused(draft, sitting):
        return
    whole = with_planned_tasters(replace(draft, sittings=(sitting,)))
    assert str(outlook_of(whole.plan).verdict)
    assert quantities(whole).trays == planned
