"""A trial of the reader: pictures of real cards scored against what people see on them."""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import click

from panel.cli.local import OPERATOR, content
from panel.cli.progress import Progress
from panel.cli.side_by_side import side_by_side
from panel.core.allocation.check_letter import card_number
from panel.core.errors import PanelError, RefusalsError
from panel.core.reader_trial import CardScore, Look, Outcome, PlaceScore, Sum, summed
from panel.services.score_trial import ScoredCard, ScoredPage, Seen, score_file, seen_of
from panel.services.workplace import Workplace


class Trial:
    """What was seen in all pictures so far."""

    def __init__(self) -> None:
        self.scores: list[CardScore] = []
        self.read: set[int] = set()
        self.unknown = self.without_card = self.not_read = 0

    def take(self, where: str, card: ScoredCard) -> None:
        """One card: its score, and each silent error by name."""
        if card.number is None:
            self.unknown += 1
            click.echo(f"{where}: a code of no card here. {_said(card)}")
            return
        if card.score is None:
            self.unknown += 1
            click.echo(f"{where}: card {card.card} is not on the sheet.")
            return
        self.read.add(card.number)
        self.scores.append(card.score)
        for one in card.score.places:
            if one.outcome is Outcome.SILENT:
                click.echo(
                    f"{where}: SILENT ERROR, card {card.card}, {one.question} {one.word}: people "
                    f"see “{one.look}”, the reader the contrary."
                )

    @property
    def places(self) -> list[PlaceScore]:
        """Every place of every card."""
        return [one for score in self.scores for one in score.places]


def run_trial(at: Workplace, comparison_id: str, truth: Path, files: tuple[Path, ...]) -> bool:
    """Prints what became of every place; whether there was no silent error."""
    seen = _sheet(at, comparison_id, truth)
    trial, progress = Trial(), Progress()

    def pages_of(file: Path) -> Iterator[ScoredPage]:
        yield from score_file(at, OPERATOR, comparison_id, seen, content(file))

    for file, pages in side_by_side(files, pages_of):
        try:
            for page in progress.over(file.name, pages):
                where = file.name if page.pages == 1 else f"{file.name}, page {page.number}"
                if not page.cards:
                    trial.without_card += 1
                    click.echo(f"{where}: no card was found on it.")
                for card in page.cards:
                    trial.take(where, card)
        except PanelError as refusal:
            trial.not_read += 1
            click.echo(f"{file.name}: {refusal.message}")
    _report(trial, seen)
    return summed(trial.places).silent == 0


def _sheet(at: Workplace, comparison_id: str, truth: Path) -> Seen:
    try:
        return seen_of(at, OPERATOR, comparison_id, content(truth))
    except RefusalsError as refused:
        for one in refused.refusals:
            click.echo(str(one.message), err=True)
        raise click.ClickException(f"{truth.name} cannot be used. Nothing was read.") from refused
    except PanelError as refusal:
        raise click.ClickException(f"{truth.name}: {refusal.message}") from refusal


def _said(card: ScoredCard) -> str:
    return " ".join(str(doubt) for doubt in card.doubts)


def _report(trial: Trial, seen: Seen) -> None:
    missing = [card_number(number) for number in sorted(set(seen) - trial.read)]
    click.echo(f"\n{len(trial.scores)} cards scored, of {len(seen)} on the sheet.")
    if missing:
        click.echo(f"In no picture: {', '.join(missing)}.")
    for count, words in (
        (trial.unknown, "codes or cards that are not on the sheet"),
        (trial.without_card, "pages without a card"),
        (trial.not_read, "files that could not be read"),
    ):
        if count:
            click.echo(f"{count} {words}.")
    places = trial.places
    _table("Question", places, lambda one: one.question)
    _table("Place", places, lambda one: str(one.look), [str(look) for look in Look])
    if any(one.marks for one in places):
        _table("Marked", places, lambda one: one.marks or "–")
    answers = [one for score in trial.scores for one in score.answers.values()]
    right, person, silent = (answers.count(one) for one in Outcome)
    click.echo(f"\nAnswers: {right} right, {person} to a person, {silent} wrong.")
    asked = sum(Outcome.PERSON in score.answers.values() for score in trial.scores)
    click.echo(f"Cards with a question to a person: {asked} of {len(trial.scores)}.")
    click.echo("No ballot was taken.")


def _table(
    title: str,
    places: list[PlaceScore],
    kind_of: Callable[[PlaceScore], str],
    order: Iterable[str] = (),
) -> None:
    """A line for each kind of place, and one for all."""
    kinds = dict.fromkeys((*order, *map(kind_of, places)))
    rows = [(kind, summed(one for one in places if kind_of(one) == kind)) for kind in kinds]
    rows = [(kind, one) for kind, one in rows if one != Sum()]
    wide = max([len(title), *(len(kind) for kind, _ in rows)])
    click.echo(f"\n{title:<{wide}}    right  to a person  silent errors  at 95 % at most")
    for kind, one in (*rows, ("all", summed(places))):
        click.echo(
            f"{kind:<{wide}}  {one.right:>7}  {one.person:>11}  {one.silent:>13}  {_bound(one)}"
        )


def _bound(one: Sum) -> str:
    if one.at_most is None:
        return "–"
    return f"1 in {int(1 / one.at_most):,}"
