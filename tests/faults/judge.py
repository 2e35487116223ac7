"""What must hold of a database after a kill, held against what every sender was told.

present    every acknowledged ballot is there once, every answer as it was sent
whole      nothing half-written: no answer without its ballot, none beside what was sent
unknown    what was not acknowledged is there once or not at all
receipt    what was shown as a receipt is what is kept: card and revision
record     every chain whole, one line for each ballot, naming its card, revision and channel
counts     what the steward's board counts is what is there
unseen     before closing nothing counts, no key is open, nobody has a result
"""

import json
from collections import Counter
from collections.abc import Sequence
from typing import Any

from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import card_number
from panel.core.deeds import Deed
from panel.core.names import CardStanding, Channel, Standing
from panel.store import ballots, comparisons, records, seals
from panel.store.base import Base
from panel.store.tables_reading import ReadingRow
from panel.store.tables_record import RecordRow
from panel.store.tables_serving import AnswerRow, BallotRow, TrayRow
from tests.faults.phones import Ledger, Picture, Sent, State

Place = tuple[int, int]
"""A tray's number and a ballot's revision."""


def wrong_with(
    session: Session, comparison: str, ledgers: Sequence[Ledger], pictures: Sequence[Picture] = ()
) -> list[str]:
    """What does not hold, in words; [] if everything does."""
    rows = session.scalars(select(BallotRow).where(BallotRow.comparison == comparison)).all()
    held = {(row.tray, row.revision): row for row in rows}
    said = _answers(session, comparison)
    forms = [form for ledger in ledgers for form in ledger.forms]
    known = {one.digest: one for one in pictures}
    found = [f"answers without a ballot: {place}" for place in said.keys() - held.keys()]
    found += _wrong_forms([one for one in forms if one.key not in known], held, said)
    found += _wrong_pictures(
        session, comparison, [one for one in forms if one.key in known], known, held, said
    )
    found += _wrong_record(session, comparison, rows)
    found += _wrong_counts(session, comparison, rows)
    found += _seen_early(session, comparison, rows)
    return found


def _answers(session: Session, comparison: str) -> dict[Place, dict[str, tuple[str, ...]]]:
    found: dict[Place, dict[str, tuple[str, ...]]] = {}
    for row in session.scalars(select(AnswerRow).where(AnswerRow.comparison == comparison)):
        found.setdefault((row.tray, row.revision), {})[row.question] = tuple(row.words)
    return found


def _wrong_forms(
    forms: Sequence[Sent],
    held: dict[Place, BallotRow],
    said: dict[Place, dict[str, tuple[str, ...]]],
) -> list[str]:
    """Of what phones sent and what was keyed in, each with the key of its form."""
    keys = Counter(row.idempotency_key for row in held.values() if row.idempotency_key)
    found = [f"{key} is there {count} times" for key, count in keys.items() if count > 1]
    places = {row.idempotency_key: place for place, row in held.items() if row.idempotency_key}
    found += [f"{key} was never sent" for key in places.keys() - {form.key for form in forms}]
    for form in forms:
        place = places.get(form.key)
        if place is None:
            if form.state is State.ACKNOWLEDGED:
                found.append(f"tray {form.tray}: acknowledged, and not there")
            continue
        if place[0] != form.tray or said.get(place) != dict(form.answers):
            found.append(f"{place}: {said.get(place)} is not what was sent: {form.answers}")
        kept = f"{card_number(place[0])}·{place[1]}"
        if "·" in form.receipt and form.receipt != kept:
            found.append(f"the receipt said {form.receipt}, kept is {kept}")
    return found


def _wrong_pictures(
    session: Session,
    comparison: str,
    forms: Sequence[Sent],
    known: dict[str, Picture],
    held: dict[Place, BallotRow],
    said: dict[Place, dict[str, tuple[str, ...]]],
) -> list[str]:
    """Of photographed cards, whose reading names the ballot that it became."""
    found: list[str] = []
    readings: dict[tuple[str, int], int | None] = {}
    columns = (ReadingRow.file_hash, ReadingRow.tray, ReadingRow.revision)
    for digest, tray, revision in session.execute(
        select(*columns).where(ReadingRow.comparison == comparison)
    ):
        if (digest, tray) in readings:
            found.append(f"tray {tray}: the same picture was read twice")
        readings[digest, tray] = revision
    sent = {form.key for form in forms}
    for (digest, tray), revision in readings.items():
        meant = known[digest].cards.get(tray) if digest in sent else None
        if revision is None or said.get((tray, revision)) != meant:
            found.append(f"tray {tray}: its picture says {meant}, revision {revision} does not")
    scanned = {place for place, row in held.items() if row.channel is Channel.SCANNED}
    named = [(tray, revision) for (_, tray), revision in readings.items()]
    if Counter(named) != Counter(scanned):
        found.append(f"readings of {sorted(named)} for scanned ballots {sorted(scanned)}")
    for form in forms:
        lost = [tray for tray in known[form.key].cards if (form.key, tray) not in readings]
        if lost and form.state is State.ACKNOWLEDGED:
            found.append(f"trays {lost}: their picture was acknowledged, and they are not there")
    keyless = {place for place, row in held.items() if not row.idempotency_key}
    if keyless != scanned:
        found.append(f"ballots without a key that nobody photographed: {keyless - scanned}")
    return found


def _wrong_record(session: Session, comparison: str, rows: Sequence[BallotRow]) -> list[str]:
    places = ((chain, records.verify(session, chain)) for chain in records.chains(session))
    found = [f"the record {chain} breaks at {at}" for chain, at in places if at is not None]
    told = session.scalars(
        select(RecordRow).where(RecordRow.chain == comparison, RecordRow.what == Deed.BALLOT_TAKEN)
    )
    lines = Counter((int(one.subject), *_facts(one.detail)) for one in told)
    kept = Counter((row.tray, row.revision, str(row.channel)) for row in rows)
    if lines != kept:
        odd = {**(lines - kept), **(kept - lines)}
        found.append(f"{lines.total()} lines in the record for {kept.total()} ballots: {odd}")
    return found


def _facts(detail: str) -> tuple[Any, Any]:
    facts = json.loads(detail)
    return facts["revision"], facts["channel"]


def _wrong_counts(session: Session, comparison: str, rows: Sequence[BallotRow]) -> list[str]:
    with_ballot = {row.tray for row in rows}
    counted = sum(ballots.count_by_sitting(session, comparison).values())
    is_in = (CardStanding.RETURNED, CardStanding.IN_QUESTION)
    standing = set(
        session.scalars(
            select(TrayRow.number).where(
                TrayRow.comparison == comparison, TrayRow.standing.in_(is_in)
            )
        )
    )
    found = []
    if counted != len(with_ballot):
        found.append(f"{counted} trays are counted, {len(with_ballot)} have a ballot")
    if standing != with_ballot:
        found.append(f"trays {standing ^ with_ballot} stand otherwise than their ballots")
    return found


def _seen_early(session: Session, comparison: str, rows: Sequence[BallotRow]) -> list[str]:
    found = [f"tray {row.tray} counts before closing" for row in rows if row.counted is not None]
    known = comparisons.load(session, comparison)
    if known is None or known.standing is not Standing.SERVING:
        found.append(f"the comparison stands at {known and known.standing}")
    if seals.opened(session, comparison) is not None:
        found.append("the seal is open")
    return found


def orphans(session: Session) -> list[str]:
    """Rows that point at rows which are missing: PostgreSQL has no command that looks for them."""
    found = []
    for table in Base.metadata.sorted_tables:
        for key in table.foreign_key_constraints:
            other = key.referred_table.alias()
            pairs = [(one.parent, other.c[one.column.name]) for one in key.elements]
            there = select(1).where(*(mine == theirs for mine, theirs in pairs)).exists()
            mine = select(func.count()).select_from(table)
            mine = mine.where(*(one.is_not(None) for one, _ in pairs), ~there)
            if session.scalar(mine):
                found.append(f"rows of {table.name} point at rows that are missing")
    return found


def damaged(session: Session) -> list[str]:
    """What the engine finds of itself: every page of every table and index is read."""
    found = []
    if session.get_bind().dialect.name == "sqlite":
        if session.execute(text("PRAGMA integrity_check")).fetchall() != [("ok",)]:
            found.append("the database file is damaged")
        if session.execute(text("PRAGMA foreign_key_check")).first() is not None:
            found.append("rows point at rows that are missing")
        return found
    return orphans(session)
