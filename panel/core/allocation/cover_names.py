"""Neutral names for beers under triple blinding, drawn, so that nobody names a beer by a hunch.

Birds, because they rank nothing. Left out are birds whose name says something of a drink or of
its making (bittern, nuthatch, wheatear, shearwater, oystercatcher), a colour (redshank, teal), a
size or speed (great, little, swift), an order at the table (swallow), an illness (thrush), a
person (martin, robin) or a well-known drink. They are names, not words: the same in every
language, so that a container and the sealed key agree whatever the language of the sheets.
"""

from collections.abc import Sequence

from panel.core.allocation.draw import Stream

NAMES = (
    "Avocet",
    "Bunting",
    "Chough",
    "Coot",
    "Cormorant",
    "Crane",
    "Cuckoo",
    "Curlew",
    "Dipper",
    "Dotterel",
    "Dunlin",
    "Fieldfare",
    "Fulmar",
    "Gannet",
    "Godwit",
    "Goosander",
    "Grebe",
    "Guillemot",
    "Harrier",
    "Heron",
    "Hoopoe",
    "Jackdaw",
    "Kittiwake",
    "Lapwing",
    "Linnet",
    "Magpie",
    "Moorhen",
    "Nightjar",
    "Osprey",
    "Oriole",
    "Pipit",
    "Plover",
    "Pochard",
    "Puffin",
    "Sanderling",
    "Siskin",
    "Skylark",
    "Stonechat",
    "Turnstone",
    "Waxwing",
    "Whimbrel",
    "Wigeon",
    "Wryneck",
)


def draw_cover_names(stream: Stream, letters: Sequence[str]) -> dict[str, str]:
    """A cover name for each beer letter: {"A": "Plover", "B": "Heron"}.

    stream: Stream(secret, COVER_NAMES). The names are shuffled and dealt to the letters in turn.
    ValueError for more letters than names.
    """
    if len(letters) > len(NAMES):
        raise ValueError(f"there are cover names for {len(NAMES)} beers, not {len(letters)}")
    return dict(zip(letters, stream.shuffle(NAMES), strict=False))
