"""A card read from a picture that waits for a person, without a picture being read for it."""

from io import BytesIO

from PIL import Image

from panel.core.allocation.check_letter import card_number
from panel.core.card_reading import (
    Came,
    CardRead,
    KeptReading,
    OpenPoint,
    PlaceRead,
    ReadingStanding,
)
from panel.core.comparison import Comparison, Tray
from panel.core.message import say
from panel.core.methods import method_named
from panel.core.names import Channel
from panel.core.side_questions import ballot_questions
from panel.services.workplace import Workplace
from panel.store import readings


def waiting_reading(at: Workplace, known: Comparison, tray: Tray) -> int:
    """Its number. Nothing is clear but what was known before; one place of the deciding question
    is unsure."""
    method = method_named(known.plan.method)
    asked = next(one for one in ballot_questions(method, known.plan) if one.when.name == "CUPS")
    message = say("A ring is a little dark.")
    place = PlaceRead(
        question=asked.id, position=1, value="", kind="mark", state="unsure", doubt="little",
        cover=0.12, depth=0.5, band=0.03, outline=7.5, box=(10.5, 20.0, 25.0, 25.0),
    )  # fmt: skip
    picture = BytesIO()
    Image.new("L", (120, 80), 230).save(picture, "JPEG")
    read = CardRead(
        number=card_number(tray.number),
        answers={"knew": ("nothing",)},
        open=(OpenPoint(question=asked.id, reason="unsure", message=message, places=(0,)),),
        places=(place,),
        corner_marks=4,
        residual=0.31,
        contrast=0.8,
        outlines=11.2,
        version="1-test",
        picture=picture.getvalue(),
    )
    with at.units.begin() as session:
        kept = readings.add(
            session,
            known.id,
            KeptReading(
                number=0,
                tray=tray.number,
                came=Came(channel=Channel.SCANNED, file_hash="ab" * 32, page=1),
                read_at=at.now(),
                read=read,
                picture_hash="cd" * 32,
                standing=ReadingStanding.WAITING,
            ),
        )
    return kept.number
