"""Which blinding an evening really gives, from who does what, and the recipe for each number of
people.

A wish blinds nobody: double needs a server who cannot know, triple needs somebody who gives the
containers cover names and then neither pours nor serves.
"""

from panel.core.duties import Duties
from panel.core.message import Message, say
from panel.core.names import Blinding, Helpers, Smell


def blinding_given(
    helpers: Helpers, *, relabelled: bool | None = None, server_knows: bool = False
) -> tuple[Blinding, Message]:
    """The blinding that so many people give, and the sentence that says why.

    relabelled: somebody who neither pours nor serves has put cover names on the containers (taken
    as done with three people if not said). server_knows: whoever carries the trays brewed one of
    the beers, pours as well, or can see the key or the pour mat.
    """
    if helpers is Helpers.ALONE:
        return Blinding.SINGLE, say(
            "Alone you give single blinding: tasters do not know which cup is which, and you may. "
            "Do not serve what you poured face to face; use the recipe for one."
        )
    if server_knows:
        return Blinding.SINGLE, say(
            "Whoever carries the trays knows which cup is which, or can find out. That is single "
            "blinding: a face or a word can tell. Let somebody else serve, and keep the pour mat "
            "behind the door."
        )
    renamed = helpers is Helpers.THREE if relabelled is None else relabelled
    if helpers is Helpers.THREE and renamed:
        return Blinding.TRIPLE, say(
            "One person puts cover names on the containers and keeps the list sealed, one pours, "
            "one serves. That is triple blinding: nobody at the evening knows which is which."
        )
    return Blinding.DOUBLE, say(
        "One person pours behind a door, another serves and sees codes only. That is double "
        "blinding: neither tasters nor whoever serves them know which cup is which."
    )


def blinding_of(helpers: Helpers, duties: Duties) -> tuple[Blinding, tuple[Message, ...]]:
    """The blinding that so many people give who have these parts, and the sentences that say why:
    the level first, then what else takes from it."""
    told = server_said(duties)
    knows = bool(told) and helpers is not Helpers.ALONE
    level, why = blinding_given(
        helpers, relabelled=False if duties.labels_seen else None, server_knows=knows
    )
    return level, (why, *(told if knows else ()), *parts_said(duties))


def parts_said(duties: Duties) -> tuple[Message, ...]:
    """Second parts that change no level and that a reader should know."""
    said = []
    if duties.helper_tastes:
        said.append(
            say(
                "Somebody who pours or serves also tastes. They are to say so on their card; then "
                "they are counted apart from the blinded."
            )
        )
    if duties.organiser_tastes:
        said.append(
            say(
                "The organiser also tastes; by the plan they are shown nothing that tells which "
                "cup is which before closing."
            )
        )
    return tuple(said)


def server_said(duties: Duties) -> tuple[Message, ...]:
    """Why whoever carries the trays could know which cup is which; () where they could not."""
    return tuple(sentence for name, sentence in _SERVER.items() if getattr(duties, name))


_SERVER = {
    "server_brewed": say("Whoever carries the trays brewed one of the drinks, and may know it."),
    "server_pours": say("Whoever carries the trays pours as well, or goes behind the door."),
    "server_has_key": say("Whoever carries the trays printed or keeps what shows the key."),
}


def recipe(
    helpers: Helpers, smell: Smell = Smell.WITH_TASTE, *, ordered: bool = False
) -> tuple[Message, ...]:
    """What each person does, step by step, as printed and shown; alone also how one chooses, or
    puts cups in order."""
    said = _RECIPES[helpers]
    if helpers is not Helpers.ALONE:
        return said
    changed = _ALONE_BY_SMELL.get(smell, {})
    if ordered:
        changed = {**changed, 4: _SMELL_IN_ORDER if smell is Smell.ONLY else _IN_ORDER}
    return tuple(changed.get(number, one) for number, one in enumerate(said, start=1))


_ALONE = (
    say("You taste by yourself, five to eight rounds fixed beforehand; nobody else is counted."),
    say(
        "Before pouring, stick each round’s labels under its cups, so that no code can be seen "
        "from above. Pour by the mat, all cups to the same line."
    ),
    say(
        "Close your eyes and shuffle the cups of the round by hand until you have lost them; set "
        "them in a row."
    ),
    say(
        "Taste from left to right, choose, and fill the ring of the place you chose. Only then "
        "turn the cups over and copy their codes beside the rings."
    ),
    say("Rest two minutes and rinse with water between rounds. Stop after the last round."),
    say(
        "The result is one taster’s: it says whether a panel is worth pouring for, never how many "
        "people can tell."
    ),
)
_IN_ORDER = say(
    "Taste from left to right, put the cups in order, and write the place of each into its ring, 1 "
    "for the first. Only then turn the cups over and copy their codes beside the rings."
)
_SMELL_IN_ORDER = say(
    "Smell from left to right, put the cups in order, and write the place of each into its ring, 1 "
    "for the first. Only then look under the cups and copy their codes beside the rings."
)
_ALONE_BY_SMELL: dict[Smell, dict[int, Message]] = {
    Smell.FIRST: {
        4: say(
            "Smell from left to right, choose, and fill the upper ring of the place you chose. "
            "Then taste, choose again, and fill a lower ring. Only then turn the cups over and "
            "copy their codes beside the rings."
        ),
    },
    Smell.ONLY: {
        1: say("You work by yourself, five to eight rounds fixed beforehand; nobody else counts."),
        4: say(
            "Smell from left to right, choose, and fill the ring of the place you chose. Only then "
            "look under the cups and copy their codes beside the rings."
        ),
        5: say("Rest two minutes in plain air between rounds. Stop after the last round."),
    },
}
"""The steps of one's own recipe that are others where smelling is a step of its own."""
_TWO = (
    say(
        "The pourer works behind a door with the pour mats, the pour sheet and the containers. "
        "Nothing of these leaves that room."
    ),
    say(
        "The pourer fills a wave by its mat: every heavy ring from the first jug, then every "
        "double ring from the second; reads the codes back ring by ring, aloud if nobody else can "
        "hear; then moves the cups to plain trays, each with its card."
    ),
    say(
        "The trays are left on a table outside the door. The pourer knocks and steps back: pourer "
        "and steward do not talk or look at each other until the last card is in."
    ),
    say(
        "The steward reads the script aloud, hands out any tray of the wave, takes cards back, "
        "and sees codes only."
    ),
    say("Neither of the two tastes."),
)
_THREE = (
    say(
        "The key holder puts a cover name on every container out of sight of the others, covers "
        "labels and caps, writes nothing down but the sealed list, and then stays away from "
        "pouring and serving."
    ),
    say(
        "The pourer works behind a door by the pour mats, which show cover names only. Nothing of "
        "these leaves that room."
    ),
    say("A second person reads the codes back ring by ring before cups move to plain trays."),
    say(
        "The steward reads the script aloud, hands out any tray of the wave, takes cards back, "
        "and sees codes only."
    ),
    say("None of them tastes. The sealed key stays closed until the last sitting has closed."),
)
_RECIPES: dict[Helpers, tuple[Message, ...]] = {
    Helpers.ALONE: _ALONE,
    Helpers.TWO: _TWO,
    Helpers.THREE: _THREE,
}
