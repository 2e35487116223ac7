"""Everything that must be said beside a finding: one function a caution, each with its own test."""

from panel.core.cautions.blindness import (
    decided_with_key,
    helper_silent,
    less_blind,
    opened_in_emergency,
    single_blinding,
    taster_saw_key,
)
from panel.core.cautions.caution import Caution, Evidence, Rule, Severity
from panel.core.cautions.numbers import (
    fewer_than_guessing,
    fewer_than_planned,
    in_question,
    late_ballots,
    set_aside,
    several_tests,
    small_panel,
    without_ballot,
)
from panel.core.cautions.people import (
    attribute_named,
    both_asked,
    counted_twice,
    did_not_say,
    feedback,
    groups_not_drawn,
    helped,
    informed_knew,
    one_taster,
    same_nickname,
    tasted_before,
    told_at_the_table,
)
from panel.core.cautions.serving import (
    another_day,
    changed_after_sealing,
    codes_reused,
    favoured_place,
    looks_different,
    unbalanced_orders,
    words_waived,
)
from panel.core.cautions.smell import chosen_before, nose_decides, smelled_only

RULES: tuple[Rule, ...] = (
    looks_different,
    fewer_than_guessing,
    taster_saw_key,
    counted_twice,
    in_question,
    less_blind,
    smelled_only,
    nose_decides,
    told_at_the_table,
    informed_knew,
    groups_not_drawn,
    one_taster,
    attribute_named,
    both_asked,
    helped,
    helper_silent,
    single_blinding,
    decided_with_key,
    words_waived,
    changed_after_sealing,
    another_day,
    several_tests,
    small_panel,
    fewer_than_planned,
    without_ballot,
    unbalanced_orders,
    favoured_place,
    chosen_before,
    did_not_say,
    tasted_before,
    same_nickname,
    feedback,
    opened_in_emergency,
    codes_reused,
    set_aside,
    late_ballots,
)
"""All cautions; within one severity they are shown in this order."""


def cautions_of(evidence: Evidence) -> tuple[Caution, ...]:
    """The cautions that apply, the gravest first."""
    apply = [caution for rule in RULES if (caution := rule(evidence)) is not None]
    order = list(Severity)
    return tuple(sorted(apply, key=lambda caution: order.index(caution.severity)))


__all__ = ["RULES", "Caution", "Evidence", "Severity", "cautions_of"]
