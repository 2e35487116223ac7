"""From trays, ballots and the opened key to judged ballots, and to the groups that may be analysed.

A group (stratum) holds ballots of one comparison, one method and one information; where a sitting
is split, the lots say tray by tray which. Three rules:

* A taster of a blinded sitting who said before the first cup that they knew the variable or helped
  to brew or pour leaves the blinded count and stands apart, as told at the table. It is enough to
  have said so once: what somebody knew cannot be taken back by a later copy of the ballot. Nobody
  leaves an informed group for knowing.
* Repeat trials are trays of one taster, never tasters: each taster of them is a group alone.
* A ballot counts that came before closing and whose tray was neither set aside nor in question.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from panel.core.ballot import Ballot
from panel.core.comparison import Comparison, Key, Sitting, Tray
from panel.core.flow import Ended, Fate, Flow, fate_of, flow_of, never_reached
from panel.core.methods import ForcedChoice, method_named
from panel.core.methods.method import outcome_of, picked_positions, said_by_place
from panel.core.names import Channel, Information, Knew, Outcome, SittingKind
from panel.core.nose_first import beside, deciding
from panel.core.questions import Answer
from panel.core.side_questions import KNEW, SURE

TELLS = frozenset({Knew.VARIABLE, Knew.HELPED})
"""What a taster of a blinded sitting may not have known, if they are to count as blinded."""


class Group(StrEnum):
    """As what a ballot counts."""

    BLINDED = "blinded"
    INFORMED = "informed"
    TOLD = "told-at-the-table"
    REPEAT = "repeat-trials"


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A ballot held against the key. `picked` are positions from 1, `said` is the deciding answer
    with places in place of codes, whatever was asked; `received` is UTC.
    `information` is BLINDED or INFORMED: of a split sitting, what the tray was drawn for.

    `knew` is what any copy of the ballot in time says, `NOTHING` only where none says more; of a
    late ballot it is what that one says. `beside` and `picked_beside` are of the choice that does
    not decide on a nose-first ballot, None where it was not asked or not given. `sure` and `taster`
    are "" where nothing was said. A late ballot is listed and never counted.
    """

    tray: int
    sitting: str
    kind: SittingKind
    information: Information
    group: Group
    order: str
    channel: Channel
    knew: tuple[Knew, ...]
    picked: tuple[int, ...]
    outcome: Outcome
    sure: str
    taster: str
    received: datetime
    late: bool
    picked_beside: tuple[int, ...] | None = None
    beside: Outcome | None = None
    said: Answer = ()


@dataclass(frozen=True, kw_only=True)
class Stratum:
    """Ballots that may be analysed together. `id` is a word of letters, digits and hyphens.

    `sittings` are ids. `taster` counts from 1 the tasters of repeat trials, else 0.
    """

    id: str
    group: Group
    information: Information
    method: str
    sittings: tuple[str, ...]
    taster: int = 0
    ballots: tuple[Judged, ...] = ()

    def count(self, outcome: Outcome) -> int:
        """How many of its ballots came out so."""
        return sum(judged.outcome is outcome for judged in self.ballots)


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """Everything that was counted, and everything that was not.

    `flow` is of all trays, `flows` by sitting id. `served` are the trays that were used at all,
    `reached` those among them that were not set aside straight from the table, `late` the late
    ballots of any tray, as they came.
    """

    strata: tuple[Stratum, ...]
    late: tuple[Judged, ...]
    flow: Flow
    flows: tuple[tuple[str, Flow], ...]
    served: tuple[Tray, ...]
    reached: tuple[Tray, ...]

    @property
    def judged(self) -> tuple[Judged, ...]:
        """All counted ballots, told at the table and repeat trials included, by tray number."""
        counted = (judged for stratum in self.strata for judged in stratum.ballots)
        return tuple(sorted(counted, key=lambda judged: judged.tray))

    def of(self, *groups: Group) -> tuple[Stratum, ...]:
        """The strata of these groups: one each where sittings join, perhaps more where not."""
        return tuple(stratum for stratum in self.strata if stratum.group in groups)


def outcomes_of(
    comparison: Comparison,
    key: Key,
    trays: Iterable[Tray],
    ballots: Iterable[Ballot],
    informed: frozenset[int] = frozenset(),
) -> Outcomes:
    """Judge every ballot and sort it into its group.

    key: as opened, with every tray. trays: all that were drawn. ballots: every copy of every tray
    (what was known is gathered from all in time); the last one before closing counts. informed:
    numbers of the trays of split sittings whose tasters were told. ValueError for a ballot whose
    tray is not there.
    """
    by_number = {tray.number: tray for tray in trays}
    came = sorted(ballots, key=lambda ballot: (ballot.received, ballot.revision))
    if strange := {ballot.tray for ballot in came} - by_number.keys():
        raise ValueError(f"ballots of trays that are not there: {sorted(strange)}")
    sittings = {sitting.id: sitting for sitting in comparison.sittings}

    def judged(ballot: Ballot, copies: Iterable[Ballot]) -> Judged:
        tray = by_number[ballot.tray]
        sitting = _of_one(sittings[tray.sitting], tray.number in informed)
        knew = known_before(copies)
        return _judge(comparison, sitting, tray, key[tray.number], ballot, knew)

    copies: dict[int, list[Ballot]] = {}
    for ballot in came:
        if not ballot.late:
            copies.setdefault(ballot.tray, []).append(ballot)
    in_time = {number: judged(of_tray[-1], of_tray) for number, of_tray in copies.items()}
    late = tuple(judged(ballot, (ballot,)) for ballot in came if ballot.late)
    ended = tuple(_end(tray, in_time.get(tray.number), late) for tray in by_number.values())
    counted = tuple(
        in_time[end.tray.number] for end in ended if end.fate in (Fate.COUNTED, Fate.TOLD)
    )
    return Outcomes(
        strata=_strata(comparison, counted),
        late=late,
        flow=flow_of(ended),
        flows=tuple(
            (sitting, flow_of(end for end in ended if end.tray.sitting == sitting))
            for sitting in sittings
        ),
        served=tuple(end.tray for end in ended if end.fate is not Fate.UNUSED),
        reached=tuple(
            end.tray for end in ended if end.fate is not Fate.UNUSED and not never_reached(end)
        ),
    )


def _end(tray: Tray, in_time: Judged | None, late: tuple[Judged, ...]) -> Ended:
    came_late = any(ballot.tray == tray.number for ballot in late)
    told = in_time is not None and in_time.group is Group.TOLD
    fate = fate_of(tray, in_time=in_time is not None, late=came_late, told=told)
    return Ended(tray, fate, came_late or in_time is not None)


def known_before(copies: Iterable[Ballot]) -> tuple[Knew, ...]:
    """What a taster said of what they knew, in any of the copies: the words in the order of the
    list, NOTHING only where it is all that was said, () where nobody said anything."""
    said = {Knew(word) for ballot in copies for word in ballot.answers.get(KNEW.id, ())}
    more = said - {Knew.NOTHING}
    return tuple(word for word in Knew if word in (more or said))


def _of_one(sitting: Sitting, told: bool) -> Sitting:
    """The sitting as it was for the taster of one tray: blinded or informed."""
    if sitting.information is not Information.SPLIT:
        return sitting
    drawn = Information.INFORMED if told else Information.BLINDED
    return replace(sitting, information=drawn)


def _judge(
    comparison: Comparison,
    sitting: Sitting,
    tray: Tray,
    order: str,
    ballot: Ballot,
    knew: tuple[Knew, ...],
) -> Judged:
    plan = comparison.plan
    method = method_named(plan.method)
    other = beside(method, plan)
    answer = ballot.answers.get(deciding(method, plan).id, ())
    second = () if other is None else ballot.answers.get(other.id, ())
    codes = tray.codes()
    return Judged(
        tray=tray.number,
        sitting=sitting.id,
        kind=sitting.kind,
        information=sitting.information,
        group=_group(sitting, knew),
        order=order,
        channel=ballot.channel,
        knew=knew,
        picked=picked_positions(codes, answer) if isinstance(method, ForcedChoice) else (),
        outcome=outcome_of(method, plan, order, codes, answer),
        picked_beside=picked_positions(codes, second) if second else None,
        beside=outcome_of(method, plan, order, codes, second) if second else None,
        said=said_by_place(codes, answer),
        sure=next(iter(ballot.answers.get(SURE.id, ())), ""),
        taster=tray.taster,
        received=ballot.received,
        late=ballot.late,
    )


def _group(sitting: Sitting, knew: tuple[Knew, ...]) -> Group:
    if sitting.kind is SittingKind.REPEAT:
        return Group.REPEAT
    if sitting.information is Information.INFORMED:
        return Group.INFORMED
    return Group.TOLD if TELLS & set(knew) else Group.BLINDED


def _strata(comparison: Comparison, counted: tuple[Judged, ...]) -> tuple[Stratum, ...]:
    """One stratum for every group that was planned, and for every other that has a ballot."""
    repeats = [sitting for sitting in comparison.sittings if sitting.kind is SittingKind.REPEAT]
    strata: list[Stratum] = []
    for group in (Group.BLINDED, Group.INFORMED, Group.TOLD):
        for name, sittings in _joined(comparison, group):
            ids = tuple(sitting.id for sitting in sittings)
            ballots = tuple(
                judged for judged in counted if judged.group is group and judged.sitting in ids
            )
            if ballots or group is not Group.TOLD:
                stratum = Stratum(
                    id=name,
                    group=group,
                    information=_of(group),
                    method=comparison.plan.method,
                    sittings=ids,
                    ballots=ballots,
                )
                strata.append(stratum)
    for sitting in repeats:
        strata += _by_taster(comparison, sitting, counted)
    return tuple(strata)


def _of(group: Group) -> Information:
    """What tasters of a group were to know; who was told at the table was drawn to be blinded."""
    return Information.INFORMED if group is Group.INFORMED else Information.BLINDED


def _joined(comparison: Comparison, group: Group) -> Iterator[tuple[str, tuple[Sitting, ...]]]:
    """The sittings a group may come from, together or one by one as the plan says, with a name."""
    sittings = tuple(
        sitting
        for sitting in comparison.sittings
        if sitting.information in (_of(group), Information.SPLIT)
        and sitting.kind is not SittingKind.REPEAT
    )
    if comparison.plan.join_sittings or len(sittings) < 2:
        if sittings:
            yield group.value, sittings
        return
    for sitting in sittings:
        yield f"{group.value}-{sitting.id}", (sitting,)


def _by_taster(
    comparison: Comparison, sitting: Sitting, counted: tuple[Judged, ...]
) -> Iterator[Stratum]:
    """Repeat trials: a stratum for each name on the trays, numbered by first appearance.

    Trays without a name belong to the only taster, where there is but one.
    """
    ballots = [judged for judged in counted if judged.sitting == sitting.id]
    names = dict.fromkeys(same_name(judged.taster) for judged in ballots)
    named = [name for name in names if name]
    tasters = [frozenset(names)] if len(named) < 2 else [frozenset({name}) for name in names]
    for number, taster in enumerate(tasters, start=1):
        yield Stratum(
            id=f"{Group.REPEAT.value}-{sitting.id}-{number}",
            group=Group.REPEAT,
            information=sitting.information,
            method=comparison.plan.method,
            sittings=(sitting.id,),
            taster=number,
            ballots=tuple(judged for judged in ballots if same_name(judged.taster) in taster),
        )


def same_name(name: str) -> str:
    """A name as it is compared: however it is written in capitals and spaces."""
    return " ".join(name.split()).casefold()
