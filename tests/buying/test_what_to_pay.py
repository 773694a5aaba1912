"""What to pay for a find: the price asked of the records comes back when the truth is played out."""

import math

import numpy as np
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.settings import Settings
from fleetlib.buying.find_value import days_to_ready, value_find, whose_target
from fleetlib.buying.what_to_pay import what_to_pay
from fleetlib.fits import Fits
from fleetlib.records.piece import Piece
from tests.histories import AS_OF
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece

FIND = Piece(furniture_type="desk", gut_price=300.0, buy_price=60.0)


def a_shop(**settings: object) -> Fits:
    rows = [
        piece("desk", 200, 6, materials_cost=25.0, bought_on="2026-05-20"),
        piece("desk", 180, 6, materials_cost=25.0, bought_on="2026-05-22"),
    ]
    chosen = Settings(as_of=AS_OF, **settings)  # type: ignore[arg-type]
    return fits_of(rows, settings=chosen, selling=KnownSelling(), hours=KnownHours(6.0))


def played_out(fits: Fits, find: Piece, rng: np.random.Generator, times: int) -> np.ndarray:
    """Nets of `times` pieces like `find`, each played week by week under the truth of the shop.

    Written without the planner: a hidden quality a piece, one coin a period at the rate of the hazard, the
    money of the period it sells in, salvage at the end. The cost of holding is no money.
    """
    value = value_find(fits, find)
    truth, case, asks = fits.selling, value.case, value.prices
    quality = truth.frailty_sd * rng.standard_normal(times)
    nets, unsold = np.zeros(times), np.ones(times, dtype=bool)
    for k, ask in enumerate(asks):
        # the weeks' weights week ** -.15, shared evenly over the days of each week
        days = np.arange(case.edges[k], case.edges[k + 1])
        weight = ((days // 7 + 1) ** -0.15 / 7).sum()
        rate = np.exp(truth.level - truth.sensitivity * (np.log(ask / 300.0) - quality)) * weight
        sells = unsold & (rng.random(times) < 1 - np.exp(-rate))
        nets[sells] += 0.94 * ask
        unsold &= ~sells
    nets[unsold] += 0.35 * 300.0 * np.exp(quality[unsold])  # worth less to whoever takes it, too
    return nets


def test_paying_that_price_returns_the_target_pay_when_the_truth_is_played_out() -> None:
    fits = a_shop(target_hourly_pay=22.0)
    advice = what_to_pay(fits, FIND)
    rng = np.random.default_rng(11)
    nets = played_out(fits, FIND, rng, 10_000)
    hours = fits.hours.sample(FIND, rng, 10_000)
    profit = nets - 25.0 - advice.highest_price
    pay = profit.sum() / hours.sum()
    error = math.sqrt(np.var(profit - pay * hours) / 10_000) / hours.mean()
    assert error < 0.25
    assert pay == pytest.approx(22.0, abs=3 * error)


def test_chances_agree_with_the_truth_played_out() -> None:
    fits = a_shop(target_hourly_pay=22.0)
    advice = what_to_pay(fits, FIND)
    rng = np.random.default_rng(12)
    nets = played_out(fits, FIND, rng, 10_000)
    hours = fits.hours.sample(FIND, rng, 10_000)
    for _, line in advice.table.iterrows():
        profit = nets - 25.0 - line["buy_price"]
        assert line["chance_of_loss"] == pytest.approx((profit < -1e-9).mean(), abs=0.02)
        assert line["chance_under_target"] == pytest.approx((profit < 22 * hours).mean(), abs=0.02)


def test_highest_price_by_hand() -> None:
    advice = what_to_pay(a_shop(target_hourly_pay=22.0), FIND)
    assert advice.highest_price == pytest.approx(advice.expected_net - 25 - 22 * 6)
    assert advice.even_price == pytest.approx(advice.expected_net - 25)
    asked, at_target, even = (advice.table.iloc[i] for i in range(3))
    assert asked["buy_price"] == 60
    assert asked["per_hour"] == pytest.approx((advice.even_price - 60) / 6)
    assert at_target["per_hour"] == pytest.approx(22)
    assert even["profit"] == pytest.approx(0, abs=1e-9)


def test_the_owners_own_hours_materials_and_costs_are_used_where_given() -> None:
    fits = a_shop(target_hourly_pay=22.0)
    usual = what_to_pay(fits, FIND)
    own = Piece(
        furniture_type="desk", gut_price=300.0, hours=10.0, materials_cost=40.0, other_costs=5.0
    )
    advice = what_to_pay(fits, own)
    assert usual.highest_price - advice.highest_price == pytest.approx(4 * 22 + 15 + 5)
    assert any("your records would say 6.0" in n for n in advice.notes)


def test_more_hours_lower_the_price_and_a_dearer_piece_raises_it() -> None:
    moves = what_to_pay(a_shop(), FIND).moves.set_index("change")["highest_price"]
    assert moves["1 in 10 such jobs takes longer"] < moves["as expected"]
    assert moves["1 in 10 such jobs is quicker"] > moves["as expected"]
    assert moves["it is worth 10% less to buyers"] < moves["as expected"]
    assert moves["it is worth 10% more to buyers"] > moves["as expected"]
    assert moves["you ask 10% less all along"] <= moves["as expected"] + 2


def test_days_until_the_cash_is_back_are_work_and_sale() -> None:
    fits = a_shop()
    advice = what_to_pay(fits, FIND)
    selling = value_find(fits, FIND).outcomes.expected_days
    assert advice.cash_back_days == pytest.approx(
        11 + selling
    )  # 12 and 10 days from buying to listing
    assert advice.cash_back_late > advice.cash_back_days


def test_working_time_of_the_type_counts_from_five_pieces_on() -> None:
    rows = [piece("desk", 1, 1, bought_on="2026-05-30") for _ in range(5)]
    rows += [piece("hutch", 1, 1, bought_on="2026-03-01") for _ in range(6)]
    flips = fits_of(rows).records.flips
    assert days_to_ready(flips, "desk") == 2
    assert days_to_ready(flips, "hutch") == 92
    assert days_to_ready(flips, "bench") == 92  # the shop's median
    assert math.isnan(days_to_ready(flips.iloc[:0], "desk"))


def test_a_piece_not_worth_taking_for_free_is_said() -> None:
    advice = what_to_pay(a_shop(), Piece(furniture_type="desk", gut_price=40.0, hours=20.0))
    assert advice.highest_price < 0
    assert "even for free it pays less than your target an hour" in advice.notes
    assert "pay at most: $0" in str(advice)


def test_a_name_already_on_record_does_not_stop_a_find() -> None:
    named = Piece(furniture_type="desk", gut_price=300.0, piece="A-1")  # A-1 is sold
    assert what_to_pay(a_shop(), named).highest_price == pytest.approx(
        what_to_pay(a_shop(), FIND).highest_price
    )


def test_no_hours_on_record_and_none_given_is_refused() -> None:
    fits = fits_of([piece("desk", 200, None)], selling=KnownSelling())
    with pytest.raises(BadQuestion, match="say how many hours the whole job takes"):
        what_to_pay(fits, FIND)
    told = Piece(furniture_type="desk", gut_price=300.0, hours=5.0)
    assert what_to_pay(fits, told).hours == 5.0


def test_nothing_that_says_what_it_may_bring_is_refused() -> None:
    with pytest.raises(BadQuestion, match="no gut_price"):
        what_to_pay(a_shop(borrow=False), Piece(furniture_type="desk"))


def test_text_fits_the_terminal_and_is_escaped_in_html() -> None:
    advice = what_to_pay(a_shop(), Piece(furniture_type="<b>desk</b>", gut_price=300.0, hours=3.0))
    assert max(len(line) for line in str(advice).splitlines()) <= 80
    assert "<b>desk" not in advice._repr_html_()


def test_a_target_that_nobody_chose_is_said_to_be_the_kit_s() -> None:
    assert "$25 an hour is the kit's target" in whose_target(Settings())[0]
    assert whose_target(Settings(chosen=frozenset({"target_hourly_pay"}))) == ()
