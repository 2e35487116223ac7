"""The printing order of cup labels: tray by tray, whatever the draw."""

from panel.core.allocation.labels import CupLabel, labels_in_print_order
from panel.core.allocation.trays import draw_sitting

TRIANGLE = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")


def test_labels_come_tray_by_tray_in_serving_order() -> None:
    labels = labels_in_print_order([(2, ("391", "527")), (1, ("482", "153"))])
    assert labels == (
        CupLabel(1, 1, "482"),
        CupLabel(1, 2, "153"),
        CupLabel(2, 1, "391"),
        CupLabel(2, 2, "527"),
    )


def test_every_cup_of_a_sitting_has_its_label_once() -> None:
    draw = draw_sitting(bytes(range(32)), "s1", 1, TRIANGLE, 12, 6, False)
    labels = labels_in_print_order([(tray.number, tray.codes()) for tray in draw.trays])
    cups = [(tray.number, cup.position, cup.code) for tray in draw.trays for cup in tray.cups]
    assert [(label.number, label.position, label.code) for label in labels] == cups


def test_beers_that_change_places_leave_the_labels_alone() -> None:
    """The same draw with A and B swapped on every tray prints the same sheet."""
    swapped = tuple(order.translate(str.maketrans("AB", "BA")) for order in TRIANGLE)
    sheets = [
        labels_in_print_order(
            [
                (tray.number, tray.codes())
                for tray in draw_sitting(bytes(32), "s1", 1, orders, 12, 6, False).trays
            ]
        )
        for orders in (TRIANGLE, swapped)
    ]
    assert sheets[0] == sheets[1]
