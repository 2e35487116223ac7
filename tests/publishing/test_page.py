"""The result's page: what must stand on it, in which order, and what must not."""

import re
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from html import unescape
from itertools import pairwise

import pytest

from panel import catalogue
from panel.core.amendment import Amendment
from panel.core.findings import Verdict
from panel.core.message import Message
from panel.core.names import Aim, Blinding, Information, Looks, Role, SittingKind
from panel.core.plan import Plan
from panel.core.result import result_of
from panel.core.sight_of_key import Seen, Sighted
from panel.publishing import conditions
from panel.publishing.page import Links, result_html
from tests.core.wording.banned import BANNED
from tests.publishing.opened import opened, result
from tests.results import (
    NOON,
    Answered,
    Evening,
    comparison,
    evening,
    right_and_wrong,
    sitting,
    times,
    two_tables,
)

CHANGE = Amendment(
    number=1, made=NOON, what="The table moved to the front room.", reason="It was too cold."
)


def page(event: Evening, *amendments: Amendment, seal_holds: bool | None = True) -> str:
    known, _ = opened(event)
    return result_html(
        result(known, *amendments), known.comparison, links=Links(), seal_holds=seal_holds
    )


def text_of(html: str) -> str:
    """The page's words, without marks and white space."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_it_says_its_sentence_first_and_then_the_rest_in_order():
    text = text_of(page(two_tables(told=2), CHANGE))
    places = [
        text.index(words)
        for words in (
            "Alder Quay Fermenters · Triangle test · sealed before serving",
            "Saison: conditioned in the bottle, or in the keg?",
            "15 of 36 blinded tasters found the odd cup. Guessing alone would give about 12.",
            "That is not strong evidence of a difference.",
            "Blinded told nothing of what was changed planned; changes below",
            "With those who had been told at the table, 17 of 38 found the odd cup.",
            "Informed knew what was changed planned; changes below",
            "9 of 12 tasters who knew what was changed found the odd cup.",
            "What knowing does planned; changes below",
            "Told at the table sat with the blinded, and knew extra",
            "Before you believe it",
            "What guessing alone would give",
            "What became of the trays",
            "What was compared",
            "Where, when and with what words",
            "What was locked beforehand",
            "For statisticians",
            "The seal, and how to check it",
        )
    ]
    assert places == sorted(places)


def test_planned_and_extra_are_marked_by_what_was_locked_and_when():
    event = two_tables(told=2)
    assert "Blinded told nothing of what was changed planned" in text_of(page(event))
    assert "knew extra" in text_of(page(event))
    known, _ = opened(event)
    assert known.comparison.seal is not None
    late = replace(known.comparison.seal, made=NOON + timedelta(hours=8))
    unlocked = replace(known.comparison, seal=late)
    html = result_html(result(replace(known, comparison=unlocked)), unlocked)
    assert text_of(html).count("not locked before serving") == 3  # two groups, their difference


def test_every_condition_stands_on_it():
    text = text_of(page(two_tables(), CHANGE))
    for words in (
        "where the saison was conditioned",
        "conditioned in the bottle",
        "carbonated in the keg",
        "50 ml",
        "8 °C",
        "dark cups",
        "Swallow or spit as you like.",
        "Blinding, as planned double: neither tasters nor who served them were to know",
        "Blinding of “The blue table”, by the record Of 36 trays nobody noted who handed them out",
        "If who did what was changed, that is not weighed here",
        "barley (gluten)",
        "The back room",
        "were told, word for word: One was conditioned in the bottle, the other in the keg.",
        "The table moved to the front room. Because: It was too cold.",
        "30 in 100 tasters truly telling the two apart",
        "5 in 100",
        "2; blinded ones make one total, informed ones another",
    ):
        assert words in text, words


def test_repeat_trials_alone_plan_trays_and_no_tasters():
    event = two_tables()
    tables = tuple(replace(one, kind=SittingKind.REPEAT) for one in event.comparison.sittings)
    repeats = replace(event, comparison=replace(event.comparison, sittings=tables))
    assert "Trays planned, of one taster" in text_of(page(repeats))
    assert "Tasters planned" not in text_of(page(repeats))
    assert "Tasters planned" in text_of(page(event))


def test_what_was_not_recorded_is_said_to_be_so():
    event = two_tables()
    serving = replace(event.comparison.serving, temperature=None, vessel="")
    bare = replace(event, comparison=replace(event.comparison, serving=serving, organised_by=""))
    assert text_of(page(bare)).count("not recorded") == 5  # and the alcohol of both beers


@pytest.mark.parametrize("blinding", list(Blinding))
@pytest.mark.parametrize("looks", list(Looks))
def test_blinding_and_looks_are_said(blinding, looks):
    event = two_tables()
    serving = replace(event.comparison.serving, looks=looks)
    known = replace(event, comparison=replace(event.comparison, blinding=blinding, serving=serving))
    text = text_of(page(known))
    assert f"Blinding, as planned {blinding}: " in text
    assert "nobody in the room knew" not in text
    assert ("nothing hid it" in text) is (looks is Looks.DIFFERENT)


def test_the_planned_blinding_never_stands_beside_a_record_that_says_otherwise():
    event, _ = opened(two_tables())
    sighted = (
        Sighted(
            role=Role.ORGANISER,
            number=0,
            seen=(Seen("pour-mats", NOON, "blue"),),
            keyed=4,
            handed_out=(("blue", 30),),
        ),
    )
    facts = (event.comparison, event.key, event.trays, event.ballots)
    text = text_of(result_html(result_of(*facts, sighted=sighted), event.comparison))
    for words in (
        "Planned as double blinding; by the record one sitting was single at most.",
        "4 times somebody who had seen the key decided about a ballot, or keyed it in.",
        "Blinding of “The blue table”, by the record single at most, and not double. The organiser "
        "handed out 30 trays after seeing the key or printing it.",
        "Blinding of “The green table”, by the record Of 12 trays nobody noted",
        "The organiser keyed 4 ballots in afterwards.",
    ):
        assert words in text, words
    assert "As planned, as far as the record can tell" not in text


def test_the_reading_with_a_prior_is_folded_away_and_none_of_it_is_of_the_told():
    html = page(two_tables(told=1))
    fold = html.split("The same counts, read as probabilities of sizes</summary>")[1]
    fold = fold.split("</details>")[0]
    assert fold.count("Suppose that before the first cup") == fold.count("<h3>") == 2
    assert fold.count("This decides nothing; the rule that was locked does.") == 1
    assert "told at the table" not in fold.lower()


def test_statisticians_words_stand_in_their_own_block():
    html = page(two_tables(told=1))
    before = text_of(html.split("<details>\n<summary>For statisticians")[0])
    assert not re.search(r"d-prime|discriminator|stratum|Clopper|binomial", before)
    assert "d-prime" in text_of(html)


def test_nothing_is_over_claimed():
    text = text_of(page(two_tables(told=2), CHANGE))
    text = re.sub(r"p-value[^)]{0,60}?\d\.\d{3}", "", text)
    found = BANNED.search(text.replace("0.000", ""))
    assert found is None, found


def test_words_of_people_are_never_markup():
    event = two_tables()
    nasty = "<script>alert(1)</script>"
    sittings = tuple(replace(one, told=nasty, name=nasty) for one in event.comparison.sittings)
    beers = tuple(replace(one, name=nasty) for one in event.comparison.beers)
    compared = replace(event.comparison, title=nasty, beers=beers, sittings=sittings)
    change = replace(CHANGE, what=nasty, reason=nasty)
    html = page(replace(event, comparison=compared), change)
    assert "<script" not in html
    assert "&lt;script&gt;" in html


def test_no_nickname_and_no_style_attribute():
    event = evening(comparison(), times(6, Answered(sitting="blue", taster="Firwood")))
    html = page(event)
    assert "Firwood" not in html
    assert "style=" not in html  # a strict content security policy would refuse it


def test_headings_and_names_are_in_order():
    html = page(two_tables(told=2), CHANGE)
    assert html.count("<h1>") == 1
    levels = [int(level) for level in re.findall(r"<h([1-6])", html)]
    assert all(later <= earlier + 1 for earlier, later in pairwise(levels))
    names = re.findall(r'\bid="([^"]+)"', html)
    assert len(names) == len(set(names))


def test_a_seal_that_does_not_hold_is_said_aloud():
    assert "make the same seal again" in text_of(page(two_tables()))
    broken = text_of(page(two_tables(), seal_holds=False))
    assert "The seal does not hold." in broken
    untried = text_of(page(two_tables(), seal_holds=None))
    assert "hold" not in untried.split("how to check it")[1]


def test_only_links_that_exist_are_shown():
    known, _ = opened(two_tables())
    links = Links(findings="findings.json")
    html = result_html(result(known), known.comparison, links=links)
    assert 'href="findings.json"' in html
    assert "Look up your own cups" not in html


def test_every_kind_of_comparison_has_a_page():
    preference = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2)
    similarity = Plan(method="triangle", aim=Aim.SIMILARITY)
    paired = Plan(method="paired", attribute="bitter", stronger="B")
    kitchen = sitting("kitchen", kind=SittingKind.REPEAT)
    apart = comparison(
        Plan(method="triangle", join_sittings=False), sitting("blue"), sitting("red")
    )
    pages = {
        "preference": page(evening(comparison(preference), right_and_wrong("blue", 9, 20))),
        "similarity": page(evening(comparison(similarity), right_and_wrong("blue", 9, 30))),
        "paired": page(evening(comparison(paired), right_and_wrong("blue", 9, 30))),
        "kitchen": page(
            evening(comparison(None, kitchen), right_and_wrong("kitchen", 6, 8, taster="Fir"))
        ),
        "apart": page(
            evening(apart, (*right_and_wrong("blue", 3, 9), *right_and_wrong("red", 3, 9)))
        ),
        "nobody": page(evening(comparison(), [])),
        "informed": page(
            evening(
                comparison(None, sitting("green", Information.INFORMED)),
                right_and_wrong("green", 2, 4),
            )
        ),
    }
    assert "3 in 100 more" not in pages["preference"]
    assert "30 in 100 more choosing one than the other" in pages["preference"]
    assert "Similar enough means" in pages["similarity"]
    assert "Expected to have more" in pages["paired"]
    assert "Repeat trials" in pages["kitchen"]
    assert "Blinded: The red table" in pages["apart"]
    assert "No choice of a blinded taster was counted." in pages["nobody"]
    assert "What knowing does" not in pages["informed"]


def test_it_speaks_the_language_it_is_given():
    def loud(message: Message) -> str:
        return str(message).upper()

    known, _ = opened(two_tables())
    assert result(known).findings[0].verdict is Verdict.NOT_SHOWN
    html = result_html(result(known), known.comparison, speak=loud)
    spoken = re.sub(r"(?s)<svg.*?</svg>", "", html)
    texts = [text.strip() for text in re.findall(r">([^<]+)<", spoken) if text.strip()]
    own = {
        known.comparison.title,
        *(beer.name for beer in known.comparison.beers),
        *(beer.value for beer in known.comparison.beers),
        *(one.name for one in known.comparison.sittings),
        *(one.place for one in known.comparison.sittings),
        *(one.told for one in known.comparison.sittings),
        known.comparison.seal.digest if known.comparison.seal else "",
    }
    quiet = [
        text
        for text in texts
        if text != text.upper() and text not in own and not re.fullmatch(r"[0-9a-f ]+", text)
    ]
    assert quiet == []


def test_a_strength_keeps_its_digits_in_the_language_s_points() -> None:
    said = [catalogue.speaker(one)(conditions.strength(Decimal("5.20"))) for one in ("en", "de")]
    assert said == ["5.20", "5,20"]
