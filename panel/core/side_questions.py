"""The questions beside the deciding one, the same on every ballot of a plan.

Nothing here depends on whether a sitting is blinded or informed, nor on the order of the cups:
cards of both kinds must be the same to the eye.
"""

from panel.core.comparison import Comparison
from panel.core.message import say
from panel.core.methods import Method, method_named
from panel.core.names import Knew
from panel.core.nose_first import cup_questions
from panel.core.plan import Plan
from panel.core.questions import Choice, Option, OrderCups, PickCups, Question, When, Words

KNEW = Choice(
    id="knew",
    text=say("Before I sat down I knew"),
    short=say("Knew before"),
    when=When.BEFORE,
    options=(
        Option(value=Knew.NOTHING, text=say("nothing")),
        Option(value=Knew.VARIABLE, text=say("what was changed")),
        Option(value=Knew.HELPED, text=say("I helped brew or pour")),
        Option(value=Knew.BEFORE, text=say("I have done this test before")),
    ),
    several=True,
    alone=Knew.NOTHING,
)

SURE = Choice(
    id="sure",
    text=say("How sure are you?"),
    short=say("How sure"),
    when=When.AFTER,
    required=False,
    options=(
        Option(value="sure", text=say("sure")),
        Option(value="not-sure", text=say("not sure")),
        Option(value="guess", text=say("I guessed")),
    ),
)

WENT_BY = Choice(
    id="went-by",
    text=say("What did you go by?"),
    short=say("Went by"),
    when=When.AFTER,
    required=False,
    several=True,
    alone="nothing",
    options=(
        Option(value="aroma", text=say("aroma")),
        Option(value="flavour", text=say("flavour")),
        Option(value="bitterness", text=say("bitterness")),
        Option(value="body", text=say("body")),
        Option(value="look", text=say("look")),
        Option(value="nothing", text=say("nothing")),
    ),
)

WORDS = Words(
    id="words",
    text=say("Anything you would like to say"),
    short=say("In words"),
    when=When.AFTER,
    required=False,
)


def _liked(positions: tuple[int, ...]) -> PickCups:
    return PickCups(
        id="liked",
        text=say("Which cup do you like best?"),
        short=say("Liked best"),
        when=When.AFTER,
        required=False,
        pick=1,
        positions=positions,
        no_choice=say("No preference"),
    )


def ballot_questions(method: Method, plan: Plan) -> tuple[Question, ...]:
    """Every question of a ballot in the order in which it is asked: before, cups, after."""
    with_cups = cup_questions(method, plan)
    questions: list[Question] = [KNEW, *with_cups, *method.follows(plan)]
    if plan.ask_sure and not isinstance(with_cups[0], OrderCups):  # of which place?
        questions.append(SURE)
    if plan.ask_went_by:
        questions.append(WENT_BY)
    if plan.ask_prefer and isinstance(with_cups[0], PickCups):  # else there is no choice of cups
        questions.append(_liked(with_cups[0].positions))
    if plan.ask_words:
        questions.append(WORDS)
    return tuple(questions)


def machine_read(comparison: Comparison) -> frozenset[str]:
    """Ids of the questions by which two copies of a ballot agree or differ: all but free words."""
    plan = comparison.plan
    return without_words(ballot_questions(method_named(plan.method), plan))


def without_words(questions: tuple[Question, ...]) -> frozenset[str]:
    """Ids of the questions that are not answered in free words."""
    return frozenset(question.id for question in questions if not isinstance(question, Words))
