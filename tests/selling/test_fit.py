"""The fitted pace of selling: what it recovers, what it leans on, and what it says about that."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fleetlib.selling import fit as selling_time
from fleetlib.selling import posterior as selling_posterior
from fleetlib.selling.fit import LEAST_LEARNED, SellingTimeFit, eight_in_ten, fit_selling_time
from fleetlib.selling.posterior import ASSUMED, FRAILTY, SENSITIVITY, SIGNAL, posterior_draws
from fleetlib.selling.weeks_at_risk import Listings, listing_histories
from tests.simulated_markets import AS_OF, Shop, World, simulate_shop

WORLDS = {
    "steady": World(buyers="constant", sensitivity=4.0, drops="many"),
    "random pricer": World(buyers="constant", slope=0.0, seller_noise=0.25, drops="many"),
    "never came down": World(drops="none"),
    "last asks only": World(buyers="constant", drops="many", records="last"),
    "slow": World(level=-2.4, drops="reactive"),
}


@cache
def simulated(world: str, n: int, seed: int = 1) -> Shop:
    return simulate_shop(WORLDS[world], n, np.random.default_rng(seed))


@cache
def listings(world: str, n: int, seed: int = 1) -> Listings:
    shop = simulated(world, n, seed)
    return listing_histories(shop.flips, shop.events, usual_price=shop.usual_price, as_of=AS_OF)


@cache
def fitted(world: str, n: int, seed: int = 1) -> SellingTimeFit:
    return fit_selling_time(listings(world, n, seed))


def part(whole: Listings, keep: np.ndarray) -> Listings:
    rows = np.flatnonzero(keep)
    table = whole.table.iloc[rows].reset_index(drop=True)
    return Listings(table, tuple(whole.asks[i] for i in rows))


def chance_sold(hazard, price: float, weeks: int) -> float:
    log_phi, weights = hazard.nodes()
    exposure = np.exp(
        hazard.log_rate(np.array([price])) + np.logaddexp.reduce(hazard.log_week(weeks))
    )
    return float(1 - weights @ np.exp(-np.exp(log_phi) * exposure))


@pytest.mark.slow
def test_price_sensitivity_is_recovered_where_a_plain_regression_is_fooled():
    """True B is 4. Hidden quality is in the ask and in the speed of sale, so the plain slope is far too small."""
    import statsmodels.api as sm

    whole = listings("steady", 2000)
    fit = fitted("steady", 2000)
    assert fit.best[SENSITIVITY] == pytest.approx(4.0, rel=0.15)

    weeks = whole.table["weeks"].to_numpy()
    at = np.repeat(np.arange(len(weeks)), weeks)
    ask = np.concatenate(whole.asks)
    last = np.cumsum(weeks) - 1
    sold = np.zeros(len(at))
    sold[last[whole.table["sold"].to_numpy()]] = 1
    week = np.arange(len(at)) - np.repeat(np.cumsum(weeks) - weeks, weeks) + 1
    X = np.column_stack(
        [np.ones(len(at)), np.log(ask / whole.table["usual_price"].to_numpy()[at]), np.log(week)]
    )
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    naive = sm.GLM(sold, X, family=family).fit().params[1]
    assert -naive < 2.5


def test_the_owners_idea_counts_where_it_means_something_and_not_where_it_is_random():
    assert fitted("steady", 2000).best[SIGNAL] > 0.8
    assert fitted("random pricer", 800).best[SIGNAL] < 0.3


def test_leaving_the_unsold_out_overstates_the_chance_of_selling():
    whole = listings("slow", 250)
    sold_only = fit_selling_time(part(whole, whole.table["sold"].to_numpy()))
    everything = fit_selling_time(whole)
    over = chance_sold(sold_only.hazard("dresser", 300.0, 345.0), 345.0, 8) - chance_sold(
        everything.hazard("dresser", 300.0, 345.0), 345.0, 8
    )
    assert over > 0.05
    assert any("Nothing unsold is on record" in n for n in sold_only.notes)


def test_a_type_that_sits_longer_is_slower_and_an_unknown_one_is_as_usual():
    fit = fitted("steady", 2000)
    hutch = fit.hazard("hutch", 300.0, 340.0).baseline
    nightstand = fit.hazard("nightstand", 300.0, 340.0).baseline
    unknown = fit.hazard("sleigh", 300.0, 340.0).baseline
    assert hutch < unknown < nightstand
    assert nightstand - hutch == pytest.approx(0.60, abs=0.2)  # the truth: 0.25 and -0.35


@pytest.mark.parametrize("n", [0, 1, 5])
def test_any_number_of_listings_gives_a_usable_hazard(n):
    whole = listings("steady", 250)
    fit = fit_selling_time(part(whole, np.arange(len(whole)) < n))
    assert fit.learned == "assumed"
    assert fit.information < 0.4
    assert 0.05 < chance_sold(fit.hazard("desk", 300.0, 320.0), 320.0, 8) < 0.98
    assert any("assumed, not learned" in note for note in fit.notes)


def test_with_few_sold_the_owners_idea_is_the_value():
    whole = listings("steady", 250)
    few = fit_selling_time(part(whole, np.arange(len(whole)) < 9))
    assert few.value_from == "gut price"
    assert any("your own gut price stands for the value" in n for n in few.notes)
    assert few.hazard("desk", 300.0, 400.0).log_anchor == pytest.approx(np.log(400.0))
    assert few.hazard("desk", 300.0, None).log_anchor == pytest.approx(np.log(300.0))
    assert fitted("steady", 250).value_from == "usual price"


def test_without_a_gut_price_the_value_is_less_certain():
    fit = fitted("steady", 250)
    assert fit.hazard("desk", 300.0).frailty_sd > fit.hazard("desk", 300.0, 340.0).frailty_sd
    assert fit.hazard("desk", 300.0).log_anchor == pytest.approx(np.log(300.0))


def test_a_higher_gut_price_raises_the_anchored_value_by_rho():
    fit = fitted("steady", 250)
    low, high = (fit.hazard("desk", 300.0, g).log_anchor for g in (330.0, 363.0))
    assert high - low == pytest.approx(fit.best[SIGNAL] * np.log(1.1))


def test_more_listings_with_changed_prices_teach_more():
    few, many = fitted("steady", 60), fitted("steady", 2000)
    assert few.information < many.information
    assert many.learned == "learned"
    assert not any("assumed" in n for n in many.notes)


def test_a_shop_that_never_came_down_is_told_so():
    fit = fitted("never came down", 120)
    assert fit.learned == "assumed"
    assert "No asking price on record ever changed." in fit.notes


def test_asks_that_are_filled_in_do_not_teach_the_price_response():
    """Taken at their word, 1,000 listings with only a last ask would teach a B far from the true 4."""
    fit = fitted("last asks only", 1000)
    _, below, above = ASSUMED.sensitivity
    assert ASSUMED.untaught - below < fit.best[SENSITIVITY] < ASSUMED.untaught + above
    assert fit.learned == "assumed"
    assert fit.assumed.sensitivity[:2] == pytest.approx((ASSUMED.untaught, LEAST_LEARNED * below))
    assert any("Most of your markdowns have no date" in n for n in fit.notes)
    taught = fitted("steady", 1000).assumed.sensitivity
    assert taught == pytest.approx(ASSUMED.sensitivity, rel=0.01)


def test_draws_are_twelve_and_the_same_every_time():
    whole = listings("steady", 120)
    one, two = fit_selling_time(whole), fit_selling_time(whole)
    assert one.draws.shape[0] == 12
    np.testing.assert_array_equal(one.draws, two.draws)
    spread = [chance_sold(one.hazard("desk", 300.0, 340.0, draw=d), 340.0, 8) for d in range(12)]
    middle = chance_sold(one.hazard("desk", 300.0, 340.0), 340.0, 8)
    assert min(spread) < middle < max(spread)


def test_a_stronger_price_response_turns_about_the_asks_already_tried():
    fit = fitted("steady", 250)
    usual, stronger = (fit.hazard("desk", 300.0, 340.0, sensitivity_factor=f) for f in (1.0, 1.4))
    dear = np.exp(usual.log_anchor + 0.6)
    assert stronger.sensitivity == pytest.approx(1.4 * usual.sensitivity)
    assert stronger.log_rate(np.array([dear])) < usual.log_rate(np.array([dear]))
    tried = np.exp(usual.log_anchor + fit.usual_ask)
    np.testing.assert_allclose(stronger.log_rate(tried[None]), usual.log_rate(tried[None]))


def test_the_draws_spread_as_widely_as_the_curvature_says(monkeypatch):
    """With many listings the posterior is nearly normal: draws and the curvature at the mode must agree."""
    kept = {}

    def remember(best, hessian, data, assumed):
        kept["sd"] = np.sqrt(np.diag(np.linalg.inv(hessian)))
        return posterior_draws(best, hessian, data, assumed)

    monkeypatch.setattr(selling_posterior, "DRAWS", 200)
    monkeypatch.setattr(selling_posterior, "_TRIED", 512)
    monkeypatch.setattr(selling_time, "posterior_draws", remember)
    fit = fit_selling_time(listings("steady", 800))
    away = fit.draws - fit.best
    np.testing.assert_allclose(np.sqrt((away**2).mean(axis=0)), kept["sd"], rtol=0.2)


def test_eight_in_ten_of_what_comes_next_lies_between_the_ends():
    rng = np.random.default_rng(5)
    low, high = eight_in_ten(rng.normal(size=(12, 20_000)))
    following = rng.normal(size=20_000)
    assert ((low <= following) & (following <= high)).mean() == pytest.approx(0.81, abs=0.02)


def test_with_no_sale_to_show_for_it_no_ask_goes_beyond_what_was_tried():
    whole = listings("steady", 250)
    sold = whole.table["sold"].to_numpy()
    reaches = []
    for count in (0, 2, 20, 200):
        some = np.isin(np.arange(len(whole)), np.flatnonzero(sold)[:count])
        fit = fit_selling_time(part(whole, ~sold | some))
        reaches.append((fit.cap - ASSUMED.tried) * fit.best[SENSITIVITY])
    assert reaches[0] == pytest.approx(0.0, abs=1e-9)
    assert reaches[0] < reaches[1] < reaches[2]
    assert fit.cap <= ASSUMED.most_reach  # twice what a piece is worth, however much was sold


@pytest.mark.slow
@pytest.mark.slow
def test_the_evidence_is_for_the_assumption_that_is_true():
    whole = listings("steady", 2000)

    def evidence(B: float) -> float:
        told = replace(ASSUMED, sensitivity=(B, 0.05, 0.05), untaught=B)
        return fit_selling_time(whole, assumed=told).log_evidence

    assert evidence(4.0) > max(evidence(2.5), evidence(6.0)) + 2


def test_missing_prices_and_gut_prices_are_no_obstacle():
    whole = listings("steady", 120)
    table = whole.table.copy()
    table.loc[::3, "gut_price"] = np.nan
    table.loc[::4, "usual_price"] = np.nan
    fit = fit_selling_time(Listings(table, whole.asks))
    assert np.isfinite(fit.best).all()
    assert np.isfinite(fit.draws).all()


def test_shown_in_plain_words_within_80_columns_and_the_same_every_time():
    fit = fitted("steady", 250)
    assert "\n" not in repr(fit)
    assert max(map(len, str(fit).splitlines())) <= 80
    assert "Price response: learned" in str(fit)
    assert fit._repr_html_() == fit._repr_html_()
    assert (fit.table["low"] <= fit.table["value"]).all()
    assert (fit.table["value"] <= fit.table["high"]).all()


def test_a_missing_gut_price_is_no_value_even_where_the_idea_is_the_value():
    whole = listings("steady", 250)
    few = fit_selling_time(part(whole, np.arange(len(whole)) < 9))
    assert few.hazard("desk", 300.0, float("nan")).log_anchor == pytest.approx(np.log(300.0))


def test_the_range_of_the_chance_sold_counts_how_uncertain_the_usual_price_is() -> None:
    one = fitted("steady", 120)

    def spread(gut: float | None, doubt: float) -> float:
        hazards = one.drawn_hazards("desk", 300.0, gut, doubt=doubt)
        low, high = eight_in_ten(np.array([[chance_sold(h, 340.0, 8)] for h in hazards]))
        return float(high[0] - low[0])

    assert spread(None, 0.2) > 1.2 * spread(None, 0.0)
    assert spread(340.0, 0.2) < spread(None, 0.2)  # the own price stands in for part of it
    assert len(one.drawn_hazards("desk", 300.0)) == len(one.draws)


def test_an_uncertain_usual_price_moves_as_many_alternatives_up_as_down() -> None:
    one = fitted("steady", 120)
    anchors = [h.log_anchor for h in one.drawn_hazards("desk", 300.0, doubt=0.2)]
    off = np.array(anchors) - np.log(300.0)
    assert np.mean(off) == pytest.approx(0.0, abs=1e-12)
    assert np.std(off) == pytest.approx(0.2, rel=0.08)  # of 12 evenly spaced normal quantiles
    sensitivity = [h.sensitivity for h in one.drawn_hazards("desk", 300.0, doubt=0.2)]
    assert abs(np.corrcoef(np.abs(off), sensitivity)[0, 1]) < 0.5


def test_with_few_sales_the_search_begins_at_buyers_who_mind_the_price_more_and_the_worst_counts() -> (
    None
):
    whole = listings("steady", 250)
    sold = np.cumsum(whole.table["sold"].to_numpy())
    over = []
    for number in (0, 5, 15, 60):
        n = int(np.searchsorted(sold, number, side="left")) + 1 if number else 0
        fit = fit_selling_time(part(whole, np.arange(len(whole)) < n))
        sd = fit.draws[:, SENSITIVITY].std()
        over.append((fit.leaning[SENSITIVITY] - fit.best[SENSITIVITY]) / sd)
        planned, likeliest = fit.hazard("desk", 300.0, 320.0).sensitivity, fit.best[SENSITIVITY]
        assert planned == pytest.approx(fit.leaning[SENSITIVITY]) and planned >= likeliest
        assert any("the quarter of what may be true" in n for n in fit.notes) == (number < 60)
        assert fit.caution == pytest.approx(0.5 * max(0, 1 - fit.sold / 60))
    assert over[0] == pytest.approx(0.7, abs=0.01) and over[-1] == 0
    assert over[0] > over[1] > over[2] > 0


def test_quality_nobody_recorded_does_not_follow_the_doubt_of_a_price_model_with_few_sales() -> (
    None
):
    # Taken for frailty (unseen quality) that doubt made plans skim: eight records led asks to 1.4 times the best ones.
    whole = listings("steady", 250)
    few = fit_selling_time(part(whole, np.arange(len(whole)) < 8))
    assert np.exp(few.best[FRAILTY]) == pytest.approx(0.22, rel=0.25)


def test_the_density_of_many_parameter_sets_is_that_of_each(monkeypatch):
    kept = {}

    def remember(thetas, data, assumed):
        kept["thetas"], kept["data"] = thetas[:20], data
        return many(thetas, data, assumed)

    many = selling_posterior._log_posteriors
    monkeypatch.setattr(selling_posterior, "_log_posteriors", remember)
    fit = fit_selling_time(listings("slow", 40))
    thetas, data = kept["thetas"], kept["data"]
    alone = [-selling_posterior._negative_log_posterior(t, data, fit.assumed)[0] for t in thetas]
    np.testing.assert_allclose(many(thetas, data, fit.assumed), alone, rtol=1e-7)
