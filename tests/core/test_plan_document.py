"""A plan document, read again, is the comparison that was sealed."""

import json
from dataclasses import fields, replace
from decimal import Decimal

import pytest

from panel.core.allocation.seal import canonical
from panel.core.methods import METHODS
from panel.core.names import Information, SittingKind
from panel.core.plan import Plan
from panel.core.plan_document import comparison_from, plan_document
from tests.results import comparison, sitting

NOT_SEALED = {"slug", "standing", "seal", "created", "closed", "published", "sittings"}
NOT_SEALED_OF_SITTINGS = {"paper", "standing", "opened", "closed"}


@pytest.mark.parametrize("method", METHODS)
def test_it_says_everything_that_is_locked(method):
    aim = METHODS[method].aims[0]
    plan = Plan(
        method=method, aim=aim, pd=None, d_prime=Decimal("1.20"), excluded_codes=("123", "999")
    )
    known = comparison(
        plan,
        sitting("blue", groups_drawn=True),
        sitting("green", Information.INFORMED, SittingKind.PARCEL),
    )
    known = replace(known, waived="it is the style's name")
    read = comparison_from(json.loads(canonical(plan_document(known, "panel 0"))))
    for field in fields(known):
        if field.name not in NOT_SEALED:
            assert getattr(read, field.name) == getattr(known, field.name), field.name
    for one, other in zip(read.sittings, known.sittings, strict=True):
        for field in fields(one):
            if field.name not in NOT_SEALED_OF_SITTINGS:
                assert getattr(one, field.name) == getattr(other, field.name), field.name
    assert plan_document(read, "panel 0") == plan_document(known, "panel 0")
