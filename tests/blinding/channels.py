"""The ways by which somebody could find out, what shuts each, and what proves it.

`python -m tests.blinding.channels` writes them into docs/blinding.md; a test sees that the page is
up to date, that every test named here is there, and that every planted leak has its way.
"""

from dataclasses import dataclass
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "blinding.md"

SWAP = "blinding/test_swap.py::test_a_whole_evening_is_the_same_to_whoever_is_blind"
KINDS = "blinding/test_swap.py::test_every_method_kind_and_level_is_blind"
TRIPLE = "blinding/test_swap.py::test_under_triple_blinding_the_pourer_is_blind_to_names_too"
WORDS = "blinding/test_swap.py::test_no_word_of_a_beer_or_of_the_variable_reaches_the_blind"
TOLD = "blinding/test_swap.py::test_nobody_sees_on_paper_or_screen_that_a_sitting_is_informed"
LOTS = "blinding/test_swap.py::test_at_a_split_sitting_nobody_sees_who_is_told"
ROUTES = "blinding/test_swap.py::test_every_route_is_gone_to_by_everybody_whom_it_lets_in"
GUESS = "blinding/test_guessing.py::test_nobody_guesses_above_chance"
LABELS = "blinding/test_independence.py::test_where_a_label_is_printed_says_nothing_of_its_cup"
CARDS = "blinding/test_independence.py::test_where_a_card_is_printed_says_nothing_of_its_order"
PLACES = (
    "blinding/test_independence.py::"
    "test_over_twenty_thousand_sittings_a_place_says_nothing_of_its_order"
)
MANY = (
    "blinding/test_twenty_thousand.py::"
    "test_nothing_that_is_seen_says_anything_and_a_leak_is_noticed"
)
FAIR = "core/allocation/test_fairness.py::"


@dataclass(frozen=True, kw_only=True)
class Channel:
    """A way out. `leaks` were planted in it and found; `kit` are (sheet, words that stand on it),
    where only people can shut it."""

    way: str
    who: str
    control: str
    tests: tuple[str, ...] = ()
    leaks: tuple[str, ...] = ()
    kit: tuple[tuple[str, str], ...] = ()


CHANNELS: dict[str, tuple[Channel, ...]] = {
    "Codes and numbers": (
        Channel(
            way="A code's digits, their sum, whether it is even or large",
            who="taster, steward",
            control="Codes are shuffled without a look at the beers; balance is tested, not forced",
            tests=(GUESS, MANY, f"{FAIR}test_a_code_says_nothing_of_its_beer"),
            leaks=(
                "even codes for one beer",
                "higher codes for one letter",
                "codes with a larger sum for one beer",
                "the last digit tells the letter",
            ),
        ),
        Channel(
            way="How a code stands to the other codes of its tray or of the trays beside it",
            who="taster",
            control="The same shuffle; codes stand on the card in the order of the cups",
            tests=(
                GUESS,
                MANY,
                f"{FAIR}test_the_odd_cup_has_no_code_of_its_own_kind",
                "core/allocation/test_labels.py::test_labels_come_tray_by_tray_in_serving_order",
            ),
            leaks=("the middle code for the odd cup", "the order follows the first code"),
        ),
        Channel(
            way="One code on two cups, seen by two tasters who compare",
            who="tasters together",
            control="Every cup its own code while the supply lasts, a caution in the result beyond",
            tests=(
                "core/allocation/test_codes.py::"
                "test_while_the_supply_lasts_every_cup_has_its_own_code",
                "core/cautions/test_cautions.py::test_codes_that_stand_twice_in_a_sitting",
            ),
            leaks=("codes that stay with their beer",),
        ),
        Channel(
            way="Codes remembered from an earlier evening",
            who="regulars",
            control="Each sitting's codes come from a stream of its own",
            tests=(
                GUESS,
                "blinding/test_independence.py::"
                "test_what_a_code_held_at_one_sitting_it_need_not_hold_at_the_next",
            ),
            leaks=("codes that stay with their beer",),
        ),
        Channel(
            way="The place on the tray",
            who="taster, steward",
            control="Every order equally often, dealt at random; tray mats show like rings",
            tests=(GUESS, KINDS, f"{FAIR}test_a_position_says_nothing_of_its_beer"),
            leaks=("cups set out letter by letter",),
        ),
        Channel(
            way="The card's number, its rest by any small number, its check letter",
            who="taster, steward",
            control="Numbers run through the waves; orders come to them shuffled",
            tests=(
                GUESS,
                MANY,
                f"{FAIR}test_a_card_number_says_nothing_of_its_order",
                CARDS,
            ),
            leaks=(
                "the order follows the card number by six",
                "the order follows the card number by twelve",
            ),
        ),
        Channel(
            way="The place in a wave, the seat, the turn in which people come",
            who="steward",
            control="Whole waves are shuffled and any tray of a wave goes to anybody; whoever can "
            "see the key gets one shuffle of the whole sitting",
            tests=(
                PLACES,
                f"{FAIR}test_neither_card_nor_place_says_anything_of_the_order",
                f"{FAIR}test_why_who_sees_the_key_gets_one_shuffle_and_open_answers_"
                "independent_draws",
            ),
            leaks=("every wave comes in the same turn", "spares all have one order"),
        ),
        Channel(
            way="A known seed: the same evening drawn again",
            who="somebody who has the program",
            control="The machine's own source of chance unless a test gives another; no setting",
            tests=(
                "blinding/test_ways_out.py::"
                "test_chance_is_the_machines_own_where_nobody_gives_another",
                "blinding/test_ways_out.py::"
                "test_two_evenings_of_the_same_facts_are_never_drawn_alike",
            ),
        ),
    ),
    "Paper": (
        Channel(
            way="What the square code on a card holds, or the eight characters under it",
            who="taster",
            control="An address and 80 bits made from the instance key, which knows of no order",
            tests=(
                "blinding/test_ways_out.py::"
                "test_a_cards_code_holds_an_address_and_a_token_in_one_size",
                "blinding/test_independence.py::"
                "test_no_bit_of_token_or_short_code_says_anything_of_the_order",
                GUESS,
            ),
            leaks=(
                "a token made of the order",
                "a letter of the short code",
                "the order in a card's address",
            ),
        ),
        Channel(
            way="The size or the mask of the square code",
            who="taster, pourer",
            control="One version and one mask for all cards of a kit",
            tests=(SWAP, "core/paper/test_payload.py::test_one_version_for_a_whole_kit"),
            leaks=("a larger code for some orders", "the mask of a card's code"),
        ),
        Channel(
            way="What a file says of itself: title, author, dates, bookmarks",
            who="whoever gets the file",
            control="The kind of sheet as title, and nothing else; the same bytes every time",
            tests=(
                SWAP,
                "printing/test_kit.py::test_files_know_nothing_but_what_kind_of_sheet_they_are",
            ),
            leaks=("a file's title that names a beer", "cards that know of an informed sitting"),
        ),
        Channel(
            way="White or hidden text, the order in which things are painted, streams and objects",
            who="whoever opens the file",
            control="Sheets for the blind are made from values in which nothing of it stands",
            tests=(SWAP, WORDS),
            leaks=(
                "white text on labels",
                "a point in two blacks",
                "labels painted in another turn",
                "cards in another turn of pages",
            ),
        ),
        Channel(
            way="The name of a file",
            who="whoever sees the folder or the printer's list",
            control="The sitting's id and the kind of sheet",
            tests=(SWAP, "printing/test_kit.py::test_file_names_say_nothing_of_the_question"),
            leaks=("a file called after a beer",),
        ),
        Channel(
            way="Where on which sheet a label or a card is printed",
            who="whoever cuts and sticks",
            control="Tray after tray in the order of the cups, whatever is in them",
            tests=(LABELS, CARDS, GUESS),
            leaks=("labels printed beer by beer",),
        ),
        Channel(
            way="A single label or card printed again",
            who="steward",
            control="Labels again by whole trays; a card again without the key, and the old one "
            "opens nothing",
            tests=(
                "services/test_print_kit.py::test_labels_are_printed_again_by_whole_trays",
                SWAP,
            ),
        ),
        Channel(
            way="Pour mats, pour sheet or sealed key lying about, on a shared printer, in a cache",
            who="everybody",
            control="Files of their own for the pourer or the key holder alone, made when asked "
            "for, kept nowhere, each printing recorded; in a whole kit last, behind a cover that "
            "tells nothing and says where they begin",
            tests=(
                "services/test_print_kit.py::test_what_shows_the_key_is_recorded_as_such",
                "printing/test_whole_kit.py::test_what_shows_the_key_lies_last",
                "printing/test_whole_kit.py::test_the_cover_tells_nothing",
                "services/test_keep_key.py::test_the_pourer_prints_their_own_sheets_and_no_other",
                "web/test_security.py::test_every_page_and_every_error_has_its_headers",
            ),
            kit=(("pour-mats", "keep out of sight"), ("pour-sheet", "keep out of sight")),
        ),
        Channel(
            way="A picture of a card: what the camera wrote into it, its file's name",
            who="whoever sees the page on which cards are read",
            control="Pixels in, pixels out; the picture is not kept",
            tests=(
                "blinding/test_ways_out.py::"
                "test_a_photograph_gives_back_nothing_but_the_cards_own_picture",
            ),
        ),
    ),
    "Screens": (
        Channel(
            way="Hidden fields, attributes, classes, comments, a script's state",
            who="taster who reads the page's source",
            control="A taster's page is made from values in which the order does not stand",
            tests=(SWAP, KINDS, WORDS, ROUTES),
            leaks=(
                "a hidden field with the order",
                "a data attribute with the order",
                "a script's state with the order",
                "a comment that names a beer",
                "an order as a class",
            ),
        ),
        Channel(
            way="Texts for screen readers, titles, labels, what a link's preview shows",
            who="taster with assistive technology; whoever is sent the link",
            control="The same neutral words for everybody",
            tests=(SWAP, WORDS),
            leaks=(
                "a text for screen readers that names a beer",
                "a beer's name on the public page",
            ),
        ),
        Channel(
            way="Cookies: they are signed, and anybody can read them",
            who="taster",
            control="A form's token, a tray's proof, one's own unfinished answers; nothing else",
            tests=(
                SWAP,
                WORDS,
                "web/test_security.py::test_the_forms_cookie_holds_its_token_and_nothing_else",
            ),
            leaks=("a cookie with a count of As", "a draft's cookie with the order"),
        ),
        Channel(
            way="Headers",
            who="whoever watches the network",
            control="The same for all pages of a kind",
            tests=(SWAP,),
            leaks=("a header with the order",),
        ),
        Channel(
            way="The length of an answer",
            who="whoever watches the network",
            control="One template, codes of one length. At a split sitting white space stands in, "
            "byte for byte, for what others are told; a server in between that packs pages would "
            "undo that, Panel packs none",
            tests=(
                SWAP,
                LOTS,
                "web/test_taster.py::test_pages_of_two_trays_have_the_same_length",
                "web/test_taster.py::test_at_a_split_sitting_no_page_is_longer_than_another",
                "blinding/test_planted_leaks.py::test_pages_as_long_as_what_they_tell_are_found",
            ),
            leaks=("a page as long as a beer's name",),
        ),
        Channel(
            way="The time an answer takes",
            who="whoever watches the network",
            control="No work depends on the order: the same questions to the database, in the same "
            "turn. Time itself is not measured by a test",
            tests=(SWAP,),
            leaks=("one question more to the database",),
        ),
        Channel(
            way="Refusals and error pages",
            who="taster, steward",
            control="They name codes and card numbers, never beers; defects are told without trace",
            tests=(SWAP, "web/test_security.py::test_a_defect_of_ours_is_told_without_its_trace"),
            leaks=("a refusal that names a beer",),
        ),
        Channel(
            way="Ids in addresses that can be counted up",
            who="taster, steward",
            control="Random ids; only card numbers, waves and copies are numbers",
            tests=(
                "web/test_guards.py::test_only_what_stands_on_a_card_is_named_by_a_number",
                "web/test_taster.py::test_a_ref_without_its_card_opens_nothing",
            ),
        ),
        Channel(
            way="The order of a list",
            who="steward, organiser",
            control="By wave, place and number",
            tests=(SWAP,),
            leaks=("a steward's list by order", "places in the wave by order"),
        ),
        Channel(
            way="Live counts: ballots by beer, right answers so far, cups left of each",
            who="everybody before closing",
            control="Counts of trays and ballots only, by every way, for every role",
            tests=(
                SWAP,
                "web/test_organiser_evening.py::test_the_count_tells_how_many_and_nothing_else",
                "web/test_organiser_evening.py::test_no_page_shows_a_finding_before_closing",
                "blinding/test_planted_leaks.py::test_a_running_tally_is_found",
            ),
            leaks=("cups left of each beer", "a beer's name on the steward's board"),
        ),
        Channel(
            way="The page on which copies that differ are settled",
            who="organiser",
            control="Codes and answers of the copies, never a beer",
            tests=(
                SWAP,
                "web/test_organiser_evening.py::test_a_question_is_settled_by_codes_alone",
            ),
        ),
        Channel(
            way="The result, its files or a comment in it before publication",
            who="members, tasters",
            control="Not there before, nor in the archive, and at an address nobody guesses",
            tests=(
                SWAP,
                "web/test_archive.py::test_what_is_not_published_is_nowhere_in_the_archive",
                "web/test_public.py::test_while_serving_and_after_closing_there_is_no_figure",
                "web/test_guards.py::test_only_the_whole_slug_opens_a_page",
            ),
            leaks=("a result that is there before its time",),
        ),
        Channel(
            way="A borrowed phone: its cache, its history, its back button",
            who="the next taster",
            control="Nothing is stored, the token leaves the address bar, a card can be forgotten",
            tests=(
                "web/test_security.py::test_every_page_and_every_error_has_its_headers",
                "web/test_taster.py::test_the_token_leaves_the_address_and_any_case_opens_it",
                "web/test_taster.py::test_a_borrowed_phone_forgets_the_card",
            ),
        ),
        Channel(
            way="Other people's servers: pictures, styles, counters, the address one came from",
            who="whoever runs them",
            control="No page asks another place for anything; addresses are sent to our own pages",
            tests=(
                "blinding/test_ways_out.py::test_no_page_asks_anybody_else_for_anything",
                "web/test_security.py::test_every_page_and_every_error_has_its_headers",
            ),
        ),
        Channel(
            way="A page that is somebody else's",
            who="everybody",
            control="Whole blueprints are guarded; one table says who sees what from when on",
            tests=(
                ROUTES,
                "web/test_guards.py::test_a_pass_opens_its_own_pages_only",
                "web/test_guards.py::test_a_tasters_cookie_cannot_be_made_up",
            ),
        ),
    ),
    "What lies behind": (
        Channel(
            way="The log of the machine",
            who="an operator who tastes",
            control="Nothing of the draw is ever logged",
            tests=(SWAP,),
            leaks=("a line in the log",),
        ),
        Channel(
            way="The database, or a backup of it: rows, their order, their moments",
            who="whoever copies it",
            control="Secret and key are one ciphertext; rows of cups have codes and no beers",
            tests=(
                SWAP,
                KINDS,
                "store/test_seals.py::test_the_database_holds_no_plain_key_before_closing",
            ),
            leaks=("a column with the order", "places in the wave by order"),
        ),
        Channel(
            way="Database or backup, and instance.key beside it",
            who="whoever runs the computer",
            control="A passphrase on the key, if its key holder wants one; the sealed envelope "
            "opens it without. Otherwise trust, and the record of whoever looked",
            tests=(
                "services/test_lock_key.py::test_database_and_instance_key_together_open_nothing",
                "services/test_lock_key.py::test_the_lengths_of_what_is_shut_tell_no_order",
                "services/test_lock_key.py::"
                "test_from_a_restored_backup_it_opens_with_the_passphrase_alone",
                "services/test_lock_key.py::test_nobody_else_prints_or_sees_what_shows_the_key",
            ),
        ),
        Channel(
            way="What was answered, on the pages of whoever knows which cup is which",
            who="key holder",
            control="No page of theirs shows a ballot before closing",
            tests=(
                "blinding/test_key_holder.py::test_no_answer_reaches_the_key_holder_before_closing",
                "blinding/test_key_holder.py::test_a_tally_on_the_key_holders_page_is_found",
            ),
        ),
    ),
    "Words": (
        Channel(
            way="A word of the variable or of a beer's name in a title, a place, a vessel",
            who="whoever is blinded",
            control="Every shared word is listed before sealing and blocks it until changed or "
            "waived with a reason",
            tests=(
                "core/test_leaks.py::test_every_text_that_is_met_is_looked_at",
                "services/test_evening.py::test_words_that_tell_block_sealing_until_waived",
                WORDS,
            ),
            leaks=("a beer's name on the public page",),
        ),
        Channel(
            way="Allergens or strength that differ between the beers",
            who="taster, steward",
            control="One list and the higher strength for the whole comparison. An allergen that "
            "is the variable is named all the same: safety goes first",
            tests=(SWAP, "core/test_leaks.py::test_an_allergen_that_is_the_variable_stays_named"),
            leaks=("allergens of the first cup's beer",),
        ),
        Channel(
            way="Whether one is told: on card, label, poster or public page",
            who="other tasters, members",
            control="The same paper for all; words on the phone or on a slip that is folded. Who "
            "reads an informed sitting's script aloud learns them by it, from page or screen: that "
            "steward serves no blinded sitting. Stewards of blinded and split sittings never see "
            "them",
            tests=(
                TOLD,
                LOTS,
                "services/test_evening.py::test_stewards_see_nothing_that_tells",
                "services/test_evening.py::"
                "test_an_informed_sittings_steward_reads_what_is_told_in_the_script_alone",
                "web/test_steward.py::"
                "test_what_is_told_stands_in_an_informed_sittings_script_and_nowhere_else",
            ),
            leaks=(
                "cards that know of an informed sitting",
                "a public page that says the sitting is told",
                "what is told on the steward's list of trays",
                "lots on the steward's board",
                "lots on cards",
            ),
        ),
        Channel(
            way="Names under triple blinding",
            who="pourer",
            control="Cover names, drawn, on mats, sheets and screen",
            tests=(
                TRIPLE,
                "blinding/test_independence.py::"
                "test_a_cover_name_says_nothing_of_its_letter_nor_of_the_orders",
            ),
            leaks=("real names on mats of cover names", "real names on a screen of cover names"),
        ),
        Channel(
            way="Comments on a ballot, read by others",
            who="tasters",
            control="No taster's page shows another's ballot",
            tests=(SWAP,),
        ),
    ),
    "People and cups": (
        Channel(
            way="An organiser who tastes",
            who="organiser",
            control="Says so before sealing, and gets nothing that shows the key before closing",
            tests=(
                "blinding/test_ways_out.py::"
                "test_an_organiser_who_tastes_gets_nothing_that_shows_the_key",
                "services/test_keep_key.py::"
                "test_nothing_that_shows_the_key_is_the_organisers_who_tastes",
            ),
        ),
        Channel(
            way="One tray opened in an emergency",
            who="taster, steward",
            control="That tray alone, set aside for good, with a reason, recorded",
            tests=(
                SWAP,
                "services/test_emergency.py::test_it_says_what_the_key_says_of_that_tray",
            ),
        ),
        Channel(
            way="One beer poured first: colder, flatter, seen",
            who="taster",
            control="The beer that goes first changes from wave to wave; five minutes at most",
            tests=(
                "printing/test_pour_mat.py::"
                "test_the_beer_that_goes_first_changes_from_wave_to_wave",
            ),
            kit=(("pour-sheet", "at most 5 minutes"),),
        ),
        Channel(
            way="Level, foam, sediment, temperature, glasses",
            who="taster",
            control="One line for all cups, like cups, both from one bath, within 1 °C, in one "
            "movement or run off first",
            tests=("printing/test_pour_sheet.py::test_the_rules_of_the_jug",),
            kit=(("pour-sheet", "All cups to the same line"), ("pour-sheet", "within 1 °C")),
        ),
        Channel(
            way="Handwriting or ink on cups",
            who="taster",
            control="Printed labels, stuck on dry cups before anything is poured",
            kit=(("pour-sheet", "No pens on cups"),),
        ),
        Channel(
            way="Bottles, caps and kegs in view",
            who="taster, steward",
            control="They stay behind the door; covered, under cover names, where a third helps",
            kit=(("pour-sheet", "Bottles, caps, labels, mats and this sheet stay in this room"),),
        ),
        Channel(
            way="A face, a word, a look of the pourer's or the steward's",
            who="taster",
            control="The steward has codes and a script; pourer and steward do not meet",
            tests=("printing/test_steward_page.py::test_the_script_has_the_methods_own_words",),
            kit=(("pour-sheet", "Do not talk with tasters or the steward"),),
        ),
    ),
}

HEAD = """# Who could find out, and how we know that they cannot

<!-- written by `.venv/bin/python -m tests.blinding.channels`; change tests/blinding/channels.py -->

A test of drinks is worth what its blinding is worth. Here is every way out that we know of: what
shuts it, and the test that would fail if it were open. Four kinds of proof carry most of it.

**Two evenings.** The same comparison is made twice through the real services and pages: once with
the beers' names, values and strengths exchanged, once with another deal of orders on the same
codes, once with other answers on every ballot, once with the sitting told what was changed, once
with other lots at a split sitting. Whatever somebody who is blind can get – each page, refusal,
header, cookie, sheet, file name, log line, row – must be the same to the byte, and must have cost
the database the same work. The seal's digits, which have to change with the names, are a constant
there; the key's ciphertext is left out.

**Guessers.** Regressions, a tree and a memory learn from twenty thousand cups what stands on them,
beside them and around them, and are tried on others: nobody may be right more often than chance +
3.29 standard errors.

**Planted leaks.** A guard that has never barked proves nothing: wherever a careless change could
open a way out, leaks were planted in it, and the tests fail if one of them is not found.

**Twenty thousand sittings.** Every thing that is seen of a cup or a tray is held against what it
holds, over 20,000 small sittings counted whole. All pairs together accuse one fair program in a
thousand; each notices a leak planted at one sitting in twenty-five.

Where only people can shut a way, the kit says so on the sheet that is named, in these words.
Tests stand in `tests/`.
"""


def page() -> str:
    """docs/blinding.md as it should be."""
    parts = [HEAD]
    for title, channels in CHANNELS.items():
        parts.append(f"## {title}\n\n| way out | who | what shuts it | proved by | leaks found |")
        parts.append("|---|---|---|---|---|")
        parts += [_row(one) for one in channels]
        parts.append("")
    return "\n".join(parts)


def _row(one: Channel) -> str:
    proofs = [f"`{test}`" for test in one.tests]
    proofs += [f"{sheet.replace('-', ' ')}: “{words}”" for sheet, words in one.kit]
    leaks = "; ".join(one.leaks) or "–"
    cells = (one.way, one.who, one.control, "<br>".join(proofs), leaks)
    return f"| {' | '.join(cells)} |"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
