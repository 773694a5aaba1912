"""Suggestions for a misspelt word."""

from fleetlib.base.nearest import nearest

KNOWN = ["finish", "furniture_type", "wood"]


def test_a_slip_of_the_pen_finds_its_word() -> None:
    assert nearest("fininsh", KNOWN) == ["finish"]
    assert nearest("zzz", KNOWN) == []
    assert nearest("wod", [], most=3) == []


def test_likeness_is_letters_shared_in_order_over_letters_of_both() -> None:
    # "wod" and "wood": 2 * 3 / 7 = 0.857
    assert nearest("wod", KNOWN, alike=0.857) == ["wood"]
    assert nearest("wod", KNOWN, alike=0.858) == []
