"""The words of this program as types: one enum for each closed list of words."""

from enum import StrEnum


class Role(StrEnum):
    """Who somebody is to a comparison."""

    ORGANISER = "organiser"
    KEY_HOLDER = "key-holder"
    POURER = "pourer"
    STEWARD = "steward"
    TASTER = "taster"
    MEMBER = "member"


class Standing(StrEnum):
    """Where a comparison stands."""

    DRAFTED = "drafted"
    SEALED = "sealed"
    SERVING = "serving"
    CLOSED = "closed"
    PUBLISHED = "published"


class SittingStanding(StrEnum):
    """Where a sitting stands."""

    PREPARED = "prepared"
    SERVING = "serving"
    CLOSED = "closed"


class CardStanding(StrEnum):
    """Where a tray and its card stand. After closing every card is counted or set aside."""

    PRINTED = "printed"
    HANDED_OUT = "handed-out"
    RETURNED = "returned"
    IN_QUESTION = "in-question"
    COUNTED = "counted"
    SET_ASIDE = "set-aside"


class Reason(StrEnum):
    """Why a tray is set aside; decided without the key."""

    NEVER_USED = "never-used"  # spare or simply not needed
    NOT_RETURNED = "not-returned"
    MISFILLED = "misfilled"
    SPILLED = "spilled"
    SAW = "saw"  # saw a label, a bottle or the pour mat
    TALKED = "talked"
    ILL = "ill"
    UNREADABLE = "unreadable"
    REVEALED = "revealed"  # opened in an emergency; never chosen by hand, never taken back
    OTHER = "other"


class SittingKind(StrEnum):
    """How a sitting's tasters are served."""

    TABLE = "table"
    PARCEL = "parcel"
    REPEAT = "repeat"


class Information(StrEnum):
    """What a sitting's tasters know of the variable."""

    BLINDED = "blinded"
    INFORMED = "informed"
    SPLIT = "split"  # lots decide, tray by tray: half are informed, half are blinded


class Blinding(StrEnum):
    """Who does not know which cup is which."""

    SINGLE = "single"
    DOUBLE = "double"
    TRIPLE = "triple"


class Helpers(StrEnum):
    """How many people run the evening besides the tasters."""

    ALONE = "alone"
    TWO = "two"
    THREE = "three"


class Channel(StrEnum):
    """The way a ballot came in."""

    PHONE = "phone"
    KEYED = "keyed"
    SCANNED = "scanned"
    IMPORTED = "imported"


class Aim(StrEnum):
    """What a comparison wants to show."""

    DIFFERENCE = "difference"
    SIMILARITY = "similarity"
    PREFERENCE = "preference"


class Knew(StrEnum):
    """What a taster says of what they knew before the first cup."""

    NOTHING = "nothing"
    VARIABLE = "variable"
    HELPED = "helped"
    BEFORE = "before"


class Swallow(StrEnum):
    """What tasters are asked to do with the sip."""

    SWALLOW = "swallow"
    SPIT = "spit"
    EITHER = "either"


class Smell(StrEnum):
    """Whether smelling is a step of its own."""

    WITH_TASTE = "with-taste"  # people smell and taste as they drink, and choose once
    FIRST = "first"  # nose first: they choose by smell alone, then taste and choose again
    ONLY = "only"  # they choose by smell alone, and nothing is drunk


class Step(StrEnum):
    """The two choices of a nose-first ballot."""

    NOSE = "nose"
    TASTE = "taste"


class Looks(StrEnum):
    """Whether the drinks can be told apart by eye, as the organiser answered."""

    ALIKE = "alike"
    MASKED = "masked"  # they differ, and dark cups or dim light hide it
    DIFFERENT = "different"  # they differ and nothing hides it: a caution


class Paper(StrEnum):
    """The paper the kit is printed on."""

    A4 = "a4"
    LETTER = "letter"


class Outcome(StrEnum):
    """A ballot judged against the key."""

    RIGHT = "right"
    WRONG = "wrong"
    NO_CHOICE = "no-choice"
    PLACED = "placed"  # cups were put in order, and no order is a wrong one


LETTERS = "ABCDEFGH"
"""The letters that beers have, in the order in which they were named in the plan."""
