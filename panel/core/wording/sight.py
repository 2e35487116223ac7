"""Who saw the key before closing, in sentences."""

from collections.abc import Iterable, Iterator, Mapping

from panel.core.message import Message, Moment, again, say, say_n
from panel.core.names import Role
from panel.core.sight_of_key import ENVELOPE, SCREEN, Seen, Sighted

NOBODY = say("By the record nobody looked at the key before closing.")
NO_DECISION = say(
    "By the record nobody who had seen it settled a question, set a tray aside or keyed a ballot "
    "in afterwards."
)

_WHO = {
    Role.ORGANISER: say("The organiser"),
    Role.KEY_HOLDER: say("The key holder"),
    Role.POURER: say("The pourer"),
    Role.STEWARD: say("The steward"),
}
_WHO_OF_MANY = {
    Role.ORGANISER: say("Organiser %(number)s"),
    Role.KEY_HOLDER: say("Key holder %(number)s"),
    Role.POURER: say("Pourer %(number)s"),
    Role.STEWARD: say("Steward %(number)s"),
}
_DID = {
    "pour-mats": say("%(who)s printed the pour mats on %(when)s."),
    "pour-sheet": say("%(who)s printed the pour sheet on %(when)s."),
    "sealed-key": say("%(who)s printed the sealed key on %(when)s."),
    "told-slips": say("%(who)s printed the told slips on %(when)s."),
    SCREEN: say("%(who)s looked at the pour mats on a screen on %(when)s."),
    ENVELOPE: say("%(who)s opened the sealed envelope on %(when)s, after instance.key was lost."),
}
_DID_OF_ONE = {
    "pour-mats": say("%(who)s printed the pour mats of “%(sitting)s” on %(when)s."),
    "pour-sheet": say("%(who)s printed the pour sheet of “%(sitting)s” on %(when)s."),
    "told-slips": say("%(who)s printed the told slips of “%(sitting)s” on %(when)s."),
    SCREEN: say("%(who)s looked at the pour mats of “%(sitting)s” on a screen on %(when)s."),
}
_OTHER = say("%(who)s printed a sheet that shows the key on %(when)s.")


def say_sighted(
    people: Iterable[Sighted], zone: str, names: Mapping[str, str] | None = None
) -> tuple[Message, ...]:
    """A sentence for each way in which somebody saw the key, and for what they decided then.
    names: sitting id to its name, where several sittings have to be told apart."""
    known = tuple(people)
    if not known:
        return (NOBODY,)
    said = [sentence for one in known for sentence in _of_one(one, zone, names or {})]
    if not any(one.judged for one in known):
        said.append(NO_DECISION)
    return tuple(said)


def who(person: Sighted) -> Message:
    """Somebody by role, and by number where several have it."""
    if person.number and person.role in _WHO_OF_MANY:
        return say(_WHO_OF_MANY[person.role].id, number=person.number)
    return _WHO.get(person.role, say("Somebody"))


def _of_one(person: Sighted, zone: str, names: Mapping[str, str]) -> Iterator[Message]:
    name = who(person)
    first: dict[tuple[str, str], Seen] = {}
    for seen in person.seen:
        of_one = names.get(seen.sitting, "") if seen.what in _DID_OF_ONE else ""
        known = first.setdefault((seen.what, of_one), seen)
        first[seen.what, of_one] = min(known, seen, key=lambda one: one.first)
    for (what, sitting), seen in first.items():
        when = Moment(seen.first, zone)
        if sitting:
            yield say(_DID_OF_ONE[what].id, who=name, sitting=sitting, when=when)
        else:
            yield say(_DID.get(what, _OTHER).id, who=name, when=when)
    if person.trays:
        yield say_n(
            "%(who)s opened one tray in an emergency.",
            "%(who)s opened %(count)s trays in an emergency.",
            person.trays,
            who=name,
        )
    yield from _afterwards(person, name)


def _afterwards(person: Sighted, name: Message) -> Iterator[Message]:
    handed_out = sum(trays for _, trays in person.handed_out)
    for count, sentence in (
        (handed_out, _HANDED_OUT),
        (person.settled, _SETTLED),
        (person.set_aside, _SET_ASIDE),
        (person.taken_back, _TAKEN_BACK),
        (person.keyed, _KEYED),
    ):
        if count:
            yield again(sentence, count, who=name)


_HANDED_OUT = say_n(
    "%(who)s handed out one tray afterwards.",
    "%(who)s handed out %(count)s trays afterwards.",
    1,
)
_SETTLED = say_n(
    "%(who)s settled one question between copies of a ballot afterwards.",
    "%(who)s settled %(count)s questions between copies of ballots afterwards.",
    1,
)
_SET_ASIDE = say_n(
    "%(who)s set one tray aside afterwards.",
    "%(who)s set trays aside %(count)s times afterwards.",
    1,
)
_TAKEN_BACK = say_n(
    "%(who)s undid a tap on a tray once afterwards.",
    "%(who)s undid a tap on a tray %(count)s times afterwards.",
    1,
)
_KEYED = say_n(
    "%(who)s keyed one ballot in afterwards.",
    "%(who)s keyed %(count)s ballots in afterwards.",
    1,
)
