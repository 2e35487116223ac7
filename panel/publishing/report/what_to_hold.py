"""The sections on what the result stands on: the locked plan, changes, blinding, cautions, seal."""

from collections.abc import Iterable

from panel.core.drawing import Group, Tag
from panel.core.kinds import forced
from panel.core.message import Message, Moment, say
from panel.core.rosette import rosette
from panel.core.wording import (
    Row,
)
from panel.printing.blocks import Block, space
from panel.publishing import conditions
from panel.publishing.conditions import NOT_RECORDED
from panel.publishing.figures import flow_chart
from panel.publishing.report.first_page import digest_lines
from panel.publishing.report.setting import (
    SOFT,
    figure,
    point,
    words,
)
from panel.publishing.report.told import Told, typed


def rule_locked(told: Told) -> list[Block]:
    """The decision rule, as it was sealed, and the counts it asked for."""
    locked = (*conditions.planned(told.result, told.comparison), *_decisive(told))
    two_sided = told.result.plan.sides == 2
    note = say(
        "Tests are one-sided, intervals two-sided, so that at the edge a test may pass while its "
        "interval reaches chance. Nothing is corrected for more than one comparison on one evening."
    )
    if two_sided:
        note = say(
            "Tests and intervals are two-sided. Nothing is corrected for more than one comparison "
            "on one evening."
        )
    return [*told.rows(locked), words(told.speak(note), told.room, SOFT)]


def _decisive(told: Told) -> Iterable[Row]:
    for finding in forced(told.result.findings):
        if finding.decisive is not None and finding.planned:
            name = conditions.group_name(finding, told.comparison)
            yield Row(
                say("The count that decides: %(group)s", group=name),
                say("%(count)s of %(tasters)s", count=finding.decisive, tasters=finding.tasters),
            )


def deviations(told: Told) -> list[Block]:
    """What went another way than it was sealed: amendments with their reasons."""
    changes = told.result.amendments
    if not changes:
        return [told.words(say("Nothing was changed after sealing."))]
    zone = conditions.zone(told.comparison)
    return [
        point(
            f"{one.number}. {one.what}",
            told.speak(
                say("Because: %(reason)s (%(moment)s)", reason=one.reason,
                    moment=Moment(one.made, zone))
            ),
            told.room,
            heavy=False,
        )
        for one in changes
    ]  # fmt: skip


def who_knew(told: Told) -> list[Block]:
    """Who was to be blind, who was, and who saw the key before closing."""
    return [
        *told.rows(conditions.blinding(told.result, told.comparison)),
        told.sub(say("Who saw the key before closing")),
        told.all_words(conditions.who_saw(told.result, told.comparison)),
        space(2),
    ]


def cautions(told: Told) -> list[Block]:
    """Everything that must be known before it is believed."""
    if not told.result.cautions:
        return [told.words(say("No caution applies by the rules of this program."))]
    return [
        point(told.speak(one.title), told.speak(one.text), told.room, heavy=one.severity != "note")
        for one in told.result.cautions
    ]


def flow(told: Told) -> list[Block]:
    """What became of every tray."""
    drawn = flow_chart(told.result, told.speak)
    explained = say(
        "Twice as many trays are drawn as are planned, so that nobody needs the key when more "
        "people come. Whatever was set aside was set aside before closing, when the key was not "
        "yet open to all."
    )
    return [told.held(explained), figure(drawn.drawing, min(told.room, 108.0), 3.0)]


def seal(told: Told) -> list[Block]:
    """The seal, and how anybody checks it."""
    facts_of = told.result.seal
    if facts_of is None:
        return [told.words(say("This comparison was not sealed."))]
    zone = conditions.zone(told.comparison)
    made = say("%(moment)s, before the first sitting opened", moment=Moment(facts_of.made, zone))
    if not facts_of.before_serving:
        made = say("%(moment)s, after a sitting had opened", moment=Moment(facts_of.made, zone))
    opened = NOT_RECORDED
    if facts_of.opened is not None:
        opened = say("%(moment)s", moment=Moment(facts_of.opened, zone))
    size = 40.0
    drawn = Group(
        shapes=(rosette(bytes.fromhex(facts_of.digest), size),), x=size / 2, y=size / 2 + 1
    )
    checked = say(
        "The SHA-256 of the file sealed.json is the seal: plan, every tray's order and codes, and "
        "a secret. Anybody can work it out, and “panel check” tries every number of this report "
        "against the data in bundle.zip. Both lie at %(address)s.",
        address=told.edition.address,
    )
    if told.edition.draft:
        checked = say(
            "Once it is published, plan, every tray's order and codes, and the secret lie open, "
            "and anybody can work the seal out from them."
        )
    alt = told.speak(say("The seal's rosette, drawn from its digits"))
    return [
        Block(size + 4.0, (drawn,), tag=Tag.FIGURE, said=alt, keep=True),
        *told.rows(
            (
                Row(say("Digits (SHA-256)"), typed(" ".join(digest_lines(facts_of.digest)))),
                Row(say("Made"), made),
                Row(say("Opened"), opened),
                Row(say("Checked when this report was made"), _holds(told.edition.seal_holds)),
            ),
            0.3,
        ),
        told.words(checked),
    ]


def _holds(holds: bool | None) -> Message:
    if holds is None:
        return say("not tried")
    if holds:
        return say("plan, key and secret make the same seal again")
    return say("plan, key and secret do not make this seal: do not believe the result before that "
               "is explained")  # fmt: skip


def report(told: Told) -> list[Block]:
    """This report itself."""
    zone = conditions.zone(told.comparison)
    edition, known = told.edition, told.comparison
    closed = NOT_RECORDED if known.closed is None else _moment(known.closed, zone)
    published = say("not yet") if edition.published is None else _moment(edition.published, zone)
    return told.rows(
        (
            Row(say("Closed and opened"), closed),
            Row(say("Published"), published),
            Row(say("Where it stands for good"), say("%(address)s", address=edition.address)),
            Row(say("Made by"), say("%(software)s, free software (GNU AGPL)",
                                    software=edition.software)),
            Row(
                say("Modelled on"),
                say("what the test reports of ISO 4120, ISO 5495 and ISO 10399 are asked to hold, "
                    "and on CONSORT 2025 for the flow and who could know; no claim to conform"),
            ),
        )
    )  # fmt: skip


def _moment(when: object, zone: str) -> Message:
    return say("%(moment)s", moment=Moment(when, zone))  # type: ignore[arg-type]
