"""The effect of a finish, told by prices as found, in invented shops whose truth is planted."""

import numpy as np
import pandas as pd
import pytest

from fleetlib.finish.before_price import finish_effects, per_cent


def shop_sales(rng, planted, *, confounded, n=90):
    """Sales whose owner sees part of each piece's quality; better-looking ones tend to get oil if `confounded`.

    log as found = .8 seen + noise already in it;  log sale = level + seen + unseen + effect of the finish
    """
    seen = 0.3 * rng.standard_normal(n)
    leaning = 3.0 * seen if confounded else np.zeros(n)
    scores = np.column_stack([leaning, np.zeros(n), -leaning]) + rng.gumbel(size=(n, 3))
    names = np.array(["oil", "wax", "paint"])
    finish = names[scores.argmax(axis=1)]
    effect = np.array([planted.get(f, 0.0) for f in finish])
    price = np.exp(5.5 + seen + 0.2 * rng.standard_normal(n) + effect)
    return pd.DataFrame(
        {"sale_price": price, "as_found": np.exp(5.3 + 0.8 * seen), "finish": finish}
    )


def truth(sales, planted, finishes):
    shares = sales["finish"].value_counts(normalize=True)
    average = sum(shares[f] * planted.get(f, 0.0) for f in finishes)
    return np.array([planted.get(f, 0.0) - average for f in finishes])


@pytest.mark.parametrize("confounded", [False, True])
@pytest.mark.parametrize("planted", [{}, {"oil": 0.1, "paint": -0.1}])
def test_eight_in_ten_ranges_hold_the_planted_effect_with_and_without_confounding(
    planted, confounded
):
    # 300 shops of 3 finishes: the standard error of the share is about .015 (finishes of a shop hang together)
    rng = np.random.default_rng(5)
    held, off = [], []
    for _ in range(300):
        sales = shop_sales(rng, planted, confounded=confounded)
        told = finish_effects(sales)
        low, high = np.quantile(told.draws(rng, 1000), [0.1, 0.9], axis=0)
        true = truth(sales, planted, told.finishes)
        held.append((low <= true) & (true <= high))
        off.append(told.mean - true)
    assert 0.75 < np.mean(held) < 0.85
    assert np.abs(np.mean(off, axis=0)).max() < 0.02


def test_plain_comparison_is_fooled_where_the_prices_as_found_are_not():
    rng = np.random.default_rng(6)
    plain = []
    for _ in range(60):
        sales = shop_sales(rng, {}, confounded=True)
        logs = np.log(sales["sale_price"]).groupby(sales["finish"]).mean()
        plain.append(logs["oil"] - logs["paint"])
    assert np.mean(plain) > 0.25  # no finish does anything here


def test_too_few_sales_or_one_finish_tell_nothing():
    rng = np.random.default_rng(7)
    sales = shop_sales(rng, {}, confounded=False)
    assert finish_effects(sales.head(11)) is None
    assert finish_effects(sales[sales["finish"] == "oil"]) is None
    assert finish_effects(sales.assign(as_found=np.nan)) is None


def test_logs_are_printed_in_per_cent():
    assert per_cent(np.log(1.12)) == "+12%"
