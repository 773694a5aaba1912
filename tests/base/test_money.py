"""Money: shown in the shop's currency, prices on the shop's steps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlib.base.money import format_money, price_ladder, round_price


@pytest.mark.parametrize(
    ("amount", "currency", "cents", "text"),
    [
        (1150, "USD", False, "$1,150"),
        (-12.5, "USD", True, "-$12.50"),
        (-0.2, "USD", False, "$0"),
        (1150, "SEK", False, "1,150 SEK"),
        (980.4, "GBP", False, "£980"),
        (3.5, "JPY", True, "¥4"),  # ISO 4217: the yen has no minor unit
        (1.2345, "KWD", True, "1.234 KWD"),  # ISO 4217: the Kuwaiti dinar has three places
        (None, "USD", False, "-"),
        (float("nan"), "USD", False, "-"),
    ],
)
def test_money_is_written_in_its_currency(amount, currency, cents, text) -> None:
    assert format_money(amount, currency, cents=cents) == text


@pytest.mark.parametrize(
    ("amount", "to", "price"),
    [
        (386, "nearest", 385),
        (390, "nearest", 395),
        (394.9, "down", 385),
        (385.1, "up", 395),
        (2, "down", 5),
    ],
)
def test_prices_with_step_ten_and_ending_five(amount, to, price) -> None:
    assert round_price(amount, step=10, ending=5, to=to) == price


@given(st.floats(0, 1e5), st.sampled_from([0.25, 0.1, 1, 5, 10, 25]), st.floats(0, 0.9))
def test_a_rounded_price_stays_rounded_and_is_within_a_step(amount, step, part) -> None:
    ending = round(step * part, 2)
    if ending >= step:
        ending = 0.0
    low = round_price(amount, step=step, ending=ending, to="down")
    high = round_price(amount, step=step, ending=ending, to="up")
    assert round_price(low, step=step, ending=ending) == pytest.approx(low)
    assert low <= max(amount, ending) + 1e-6
    assert high >= amount - 1e-6
    assert high - low <= step + 1e-6


def test_the_ladder_holds_every_price_between_and_its_ends() -> None:
    assert price_ladder(80, 110, step=10, ending=0).tolist() == [80, 90, 100, 110]
    assert price_ladder(81, 104, step=10, ending=5).tolist() == [85, 95]
    assert price_ladder(0.3, 0.7, step=0.1).tolist() == pytest.approx([0.3, 0.4, 0.5, 0.6, 0.7])
    assert price_ladder(90, 80, step=10).size == 0
    assert np.all(price_ladder(-50, 20, step=10, ending=5) >= 0)


@pytest.mark.parametrize(
    ("step", "ending", "says"), [(0, 0, "step is 0"), (10, 10, "ending is 10")]
)
def test_impossible_steps_are_refused(step, ending, says) -> None:
    with pytest.raises(ValueError, match=says):
        round_price(100, step=step, ending=ending)
