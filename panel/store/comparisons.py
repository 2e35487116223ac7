"""Questions about comparisons. Values are whole: with beers, sittings and seal."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.core.comparison import Beer, Comparison, Seal
from panel.core.duties import duties_from, duties_words
from panel.core.names import Standing
from panel.core.plan import as_words, plan_from_words, serving_from_words
from panel.store import sittings
from panel.store.tables_comparison import BeerRow, ComparisonRow, MeasurementRow, SealRow


def add(session: Session, comparison: Comparison) -> None:
    """Keep a new comparison with its beers and sittings."""
    session.add(
        ComparisonRow(
            id=comparison.id,
            slug=comparison.slug,
            title=comparison.title,
            neutral_title=comparison.neutral_title,
            variable=comparison.variable,
            plan=as_words(comparison.plan),
            serving=as_words(comparison.serving),
            drink=comparison.drink,
            organised_by=comparison.organised_by,
            helpers=comparison.helpers,
            blinding=comparison.blinding,
            standing=comparison.standing,
            created=comparison.created,
            closed=comparison.closed,
            published=comparison.published,
            waived=comparison.waived,
            duties=duties_words(comparison.duties),
        )
    )
    session.flush()
    session.add_all(_beer_row(comparison.id, beer) for beer in comparison.beers)
    session.flush()
    for sitting in comparison.sittings:
        sittings.add(session, comparison.id, sitting)


def load(session: Session, comparison_id: str) -> Comparison | None:
    """The comparison of that id."""
    row = session.get(ComparisonRow, comparison_id)
    return None if row is None else _whole(session, [row])[0]


def by_slug(session: Session, slug: str) -> Comparison | None:
    """The comparison of that public name."""
    row = session.scalars(select(ComparisonRow).where(ComparisonRow.slug == slug)).first()
    return None if row is None else _whole(session, [row])[0]


def every(session: Session) -> tuple[Comparison, ...]:
    """All comparisons, newest first."""
    question = select(ComparisonRow).order_by(ComparisonRow.created.desc(), ComparisonRow.id)
    return _whole(session, session.scalars(question).all())


def published(session: Session) -> tuple[Comparison, ...]:
    """All published comparisons, last published first."""
    question = (
        select(ComparisonRow)
        .where(ComparisonRow.standing == Standing.PUBLISHED)
        .order_by(ComparisonRow.published.desc(), ComparisonRow.id)
    )
    return _whole(session, session.scalars(question).all())


def save(session: Session, comparison: Comparison) -> None:
    """Write what an organiser may change, beers included. Sittings, standing and seal have
    functions of their own. The database refuses another plan once it is sealed."""
    row = session.get_one(ComparisonRow, comparison.id)
    row.title = comparison.title
    row.neutral_title = comparison.neutral_title
    row.variable = comparison.variable
    row.plan = as_words(comparison.plan)
    row.serving = as_words(comparison.serving)
    row.drink = comparison.drink
    row.organised_by = comparison.organised_by
    row.helpers = comparison.helpers
    row.blinding = comparison.blinding
    row.waived = comparison.waived
    row.duties = duties_words(comparison.duties)
    _save_beers(session, comparison)
    session.flush()


def set_standing(
    session: Session, comparison_id: str, standing: Standing, at: datetime | None = None
) -> None:
    """Move a comparison to a standing; `at` is kept as the moment of closing or publishing."""
    row = session.get_one(ComparisonRow, comparison_id)
    row.standing = standing
    if standing is Standing.CLOSED:
        row.closed = at
    if standing is Standing.PUBLISHED:
        row.published = at
    session.flush()


def _save_beers(session: Session, comparison: Comparison) -> None:
    kept = {beer.letter for beer in comparison.beers}
    for beers in (MeasurementRow, BeerRow):  # what hangs on a beer goes first
        gone = select(beers).where(
            beers.comparison == comparison.id, beers.letter.not_in(sorted(kept))
        )
        for row in session.scalars(gone).all():
            session.delete(row)
        session.flush()
    for beer in comparison.beers:
        session.merge(_beer_row(comparison.id, beer))


def _beer_row(comparison_id: str, beer: Beer) -> BeerRow:
    return BeerRow(
        comparison=comparison_id,
        letter=beer.letter,
        name=beer.name,
        value=beer.value,
        abv=beer.abv,
        cover_name=beer.cover_name,
        notes=beer.notes,
    )


def _whole(session: Session, rows: Sequence[ComparisonRow]) -> tuple[Comparison, ...]:
    """Comparisons from their rows with four questions, however many there are."""
    ids = [row.id for row in rows]
    beers: dict[str, list[Beer]] = defaultdict(list)
    beer_rows = select(BeerRow).where(BeerRow.comparison.in_(ids)).order_by(BeerRow.letter)
    for beer in session.scalars(beer_rows):
        beers[beer.comparison].append(_beer(beer))
    seal_rows = select(SealRow.comparison, SealRow.digest, SealRow.made)
    seals = {
        name: Seal(digest=digest, made=made)
        for name, digest, made in session.execute(seal_rows.where(SealRow.comparison.in_(ids)))
    }
    sat = sittings.of_comparisons(session, ids)
    return tuple(
        Comparison(
            id=row.id,
            slug=row.slug,
            title=row.title,
            neutral_title=row.neutral_title,
            variable=row.variable,
            beers=tuple(beers[row.id]),
            plan=plan_from_words(row.plan),
            serving=serving_from_words(row.serving),
            drink=row.drink,
            organised_by=row.organised_by,
            helpers=row.helpers,
            blinding=row.blinding,
            standing=row.standing,
            sittings=sat.get(row.id, ()),
            seal=seals.get(row.id),
            created=row.created,
            closed=row.closed,
            published=row.published,
            waived=row.waived,
            duties=duties_from(row.duties or {}),
        )
        for row in rows
    )


def _beer(row: BeerRow) -> Beer:
    return Beer(
        letter=row.letter,
        name=row.name,
        value=row.value,
        abv=row.abv,
        cover_name=row.cover_name,
        notes=row.notes,
    )
