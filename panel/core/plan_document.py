"""The plan document: everything that is locked before the first cup, in canonical words.

It is what the seal covers beside key and secret, what the report calls the plan, and what
`amendments` are amendments to. Only strings, whole numbers, booleans, lists and mappings.
"""

import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from panel.core.allocation.seal import canonical
from panel.core.comparison import Beer, Comparison, Sitting
from panel.core.duties import duties_from, duties_words
from panel.core.methods import method_named
from panel.core.names import Blinding, Helpers, Information, SittingKind
from panel.core.plan import as_words, plan_from_words, serving_from_words

FORMAT = 1

RULES = {
    "told at the table": (
        "A taster of a blinded sitting who says before the first cup that they knew what was "
        "changed, or that they helped brew or pour, is counted apart; the blinded finding is "
        "shown with and without them. What was said so in any ballot of the tray before closing "
        "stands, whatever a later one says."
    ),
    "late": "A ballot that comes in after its sitting has closed is listed and never counted.",
    "revisions": "The last ballot of a tray before closing counts; every earlier one is kept.",
    "repeat trials": "Trays of one taster's repeat trials are never added to tasters.",
    "strata": "Blinded and informed tasters are analysed apart and never made one total.",
    "several verdicts": (
        "Where sittings do not join, each has a verdict of its own at the full risk, which is not "
        "divided among them; of k verdicts at a risk r at least one errs by chance with "
        "probability up to 1 - (1 - r)^k, and the result says so."
    ),
    "split sittings": (
        "In a split sitting lots drawn from the secret decide tray by tray whose taster is told. "
        "Ballots are analysed, and the difference between the two groups is estimated, by the "
        "group that a tray was drawn for; a taster drawn to be blinded who was told at the table "
        "is counted apart, and stays in that group for the difference."
    ),
    "differences": (
        "The difference between informed and blinded is estimated and tested for all split "
        "sittings together, for all sittings to which lots brought people together, and for all "
        "others together (where sittings do not join, for each split sitting, and for two others "
        "if there are but two); it is never pooled over these."
    ),
    "setting aside": "Trays are set aside with a reason, before the key is opened.",
}


def plan_document(comparison: Comparison, software: str) -> dict[str, Any]:
    """The document of a comparison about to be sealed. software: name and version of the program.

    Serving orders, numbers and waves follow from sittings, plan and secret as docs/draw.md says.
    """
    method = method_named(comparison.plan.method)
    return {
        "format": FORMAT,
        "software": software,
        "comparison": comparison.id,
        "title": comparison.title,
        "neutral title": comparison.neutral_title,
        "drink": comparison.drink,
        "variable": comparison.variable,
        "organised by": comparison.organised_by,
        "beers": [_beer(beer) for beer in comparison.beers],
        "plan": as_words(comparison.plan),
        "orders": list(method.orders(comparison.plan)),
        "serving": as_words(comparison.serving),
        "helpers": str(comparison.helpers),
        "blinding": str(comparison.blinding),
        "duties": duties_words(comparison.duties),
        "waived": comparison.waived,
        "sittings": [sitting_words(sitting) for sitting in comparison.sittings],
        "rules": RULES,
    }


def mark_of(comparison: Comparison) -> str:
    """A short mark of everything a draft says: another mark means that somebody changed it."""
    words = canonical(plan_document(comparison, ""))
    return hashlib.sha256(words).hexdigest()[:16]


def sitting_words(sitting: Sitting) -> dict[str, Any]:
    """What is locked of one sitting."""
    return {
        "id": sitting.id,
        "name": sitting.name,
        "kind": str(sitting.kind),
        "information": str(sitting.information),
        "planned": sitting.planned,
        "drawn": sitting.drawn,
        "place": sitting.place,
        "starts": moment_words(sitting.starts),
        "zone": sitting.zone,
        "told": sitting.told,
        "language": sitting.language,
        "groups drawn": sitting.groups_drawn,
    }


def sitting_hash(sitting: Sitting) -> str:
    """SHA-256 of the same in canonical JSON. It stands in the record of a sitting that is added
    after sealing, which the seal does not cover: so it cannot be worded anew afterwards."""
    return hashlib.sha256(canonical(sitting_words(sitting))).hexdigest()


def moment_words(moment: datetime) -> str:
    """A moment in UTC to the second, as RFC 3339 writes it."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _beer(beer: Beer) -> dict[str, Any]:
    return {
        "letter": beer.letter,
        "name": beer.name,
        "value": beer.value,
        "abv": None if beer.abv is None else str(beer.abv),
        "cover name": beer.cover_name,
        "notes": beer.notes,
    }


def comparison_from(words: Mapping[str, Any]) -> Comparison:
    """The draft that a plan document describes, made when its first sitting starts: a document
    does not say when a draft was begun. KeyError, TypeError, ValueError for what is no document.
    """
    sittings = tuple(sitting_from(one) for one in words["sittings"])
    return Comparison(
        id=words["comparison"],
        slug="",
        title=words["title"],
        neutral_title=words["neutral title"],
        variable=words["variable"],
        beers=tuple(_beer_from(beer) for beer in words["beers"]),
        plan=plan_from_words(words["plan"]),
        serving=serving_from_words(words["serving"]),
        drink=words["drink"],
        organised_by=words["organised by"],
        helpers=Helpers(words["helpers"]),
        blinding=Blinding(words["blinding"]),
        sittings=sittings,
        created=min(
            (sitting.starts for sitting in sittings), default=datetime(1970, 1, 1, tzinfo=UTC)
        ),
        waived=words["waived"],
        duties=duties_from(words.get("duties", {})),
    )


def sitting_from(words: Mapping[str, Any]) -> Sitting:
    """The sitting that `sitting_words` wrote."""
    return Sitting(
        id=words["id"],
        name=words["name"],
        kind=SittingKind(words["kind"]),
        information=Information(words["information"]),
        planned=words["planned"],
        drawn=words["drawn"],
        place=words["place"],
        starts=datetime.fromisoformat(words["starts"]),
        zone=words["zone"],
        told=words["told"],
        language=words["language"],
        groups_drawn=words["groups drawn"],
    )


def _beer_from(words: Mapping[str, Any]) -> Beer:
    return Beer(
        letter=words["letter"],
        name=words["name"],
        value=words["value"],
        abv=None if words["abv"] is None else Decimal(words["abv"]),
        cover_name=words["cover name"],
        notes=words["notes"],
    )
