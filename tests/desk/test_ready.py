"""Advice worked out ahead is the advice that is asked for, once, and never that of records read before."""

import time
from types import SimpleNamespace

from fleetlib.desk.forms.ready import Ready, as_filled_in, ready
from fleetlib.records.piece import Piece


class Shop:
    """A shop that counts how often it was asked."""

    def __init__(self) -> None:
        self.fits, self.asked = object(), []

    def advise(self, piece: Piece) -> SimpleNamespace:
        self.asked.append(piece)
        return SimpleNamespace(of=piece, by=self.fits, plan=SimpleNamespace(what_ifs=None))


DESK = Piece(piece="A-1", furniture_type="desk")


def test_advice_is_worked_out_once_for_each_piece_as_the_form_has_it() -> None:
    shop = Shop()
    held = Ready(shop)
    assert held.advise(DESK) is held.advise(Piece(piece="A-1", furniture_type="desk"))
    held.advise(Piece(piece="A-1", furniture_type="desk", gut_price=300))
    assert len(shop.asked) == 2


def test_advice_of_records_read_before_is_never_given() -> None:
    shop = Shop()
    held = Ready(shop)
    held.advise(DESK)
    shop.fits = object()
    assert held.advise(DESK).by is shop.fits


def test_nothing_is_worked_ahead_but_on_the_weekly_page() -> None:
    shop = Shop()
    held = ready(shop)
    assert ready(shop) is held
    held.soon([DESK])
    held.ahead = True
    held.soon(iter([DESK]))
    end = time.monotonic() + 20
    while not shop.asked and time.monotonic() < end:
        time.sleep(0.01)
    assert shop.asked[0] is DESK


def test_a_piece_that_says_nothing_of_its_number_is_one_as_the_form_has_it() -> None:
    assert as_filled_in(DESK).pieces_in_lot == 1
    assert as_filled_in(Piece(furniture_type="chair", pieces_in_lot=4)).pieces_in_lot == 4
