"""The invented demo shop: it rewrites itself exactly, is read whole, sounds like the trade, and its truth is found."""

from __future__ import annotations

import csv
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from fleetlib.price.features import model_columns
from fleetlib.price.fit import PriceFit, fit_prices
from fleetlib.price.regression.regressor import HedonicRegressor
from fleetlib.records.cleaning.clean import read_finds
from fleetlib.records.folder import Records, read_records
from fleetlib.selling.fit import fit_selling_time
from fleetlib.selling.weeks_at_risk import listing_histories
from fleetlib.work.hours import fit_hours

FOLDER = Path(__file__).resolve().parents[1] / "data_demo"
sys.path.insert(0, str(FOLDER))  # data_demo is a folder of files, not a package
import invented_truth  # noqa: E402
import make_demo  # noqa: E402

FILES = ("flips.csv", "events.csv", "supplies.csv", "finds.csv", "settings.toml")
TWENTY_SEEDS = range(20)


@pytest.fixture(scope="module")
def drawn() -> make_demo.Demo:
    return make_demo.make_shop(make_demo.SEED)


@pytest.fixture(scope="module")
def records() -> Records:
    return read_records(FOLDER)


@pytest.fixture(scope="module")
def shops() -> list[make_demo.Demo]:
    return [make_demo.make_shop(seed) for seed in TWENTY_SEEDS]


@pytest.fixture(scope="module")
def read_shops(
    shops: list[make_demo.Demo], tmp_path_factory: pytest.TempPathFactory
) -> list[Records]:
    """Twenty other histories, written down roughly and read back: what the models really get to see."""
    made = []
    for demo in shops:
        folder = tmp_path_factory.mktemp("shop")
        make_demo.write_untidy(demo, folder)
        made.append(read_records(folder))
    return made


def rows_of(name: str) -> list[list[str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


# ---- the files ----------------------------------------------------------------------------------------


def test_rewriting_the_demo_gives_the_same_bytes(drawn: make_demo.Demo, tmp_path: Path) -> None:
    make_demo.write_untidy(drawn, tmp_path)
    for name in FILES:
        # a checkout on Windows may end its lines otherwise
        kept = (FOLDER / name).read_bytes().replace(b"\r\n", b"\n")
        assert (tmp_path / name).read_bytes() == kept, name


def test_another_seed_is_another_history_with_the_same_truth(drawn: make_demo.Demo) -> None:
    other = make_demo.make_shop(make_demo.SEED + 1)
    assert other.truth == drawn.truth
    assert not other.flips["sale_price"].equals(drawn.flips["sale_price"])


def test_the_readme_tells_the_truth_that_was_drawn_from() -> None:
    text = " ".join((FOLDER / "README.md").read_text(encoding="utf-8").split())
    truth = invented_truth.TRUTH
    for log_effect, sentence in (
        (truth.wood_effect["walnut"], "walnut sells for about {}% more than oak"),
        (truth.wood_effect["pine"], "pine for {}% less"),
        (truth.finish_effect["oil"], "oil finish brings {}% more than polyurethane"),
        (truth.finish_effect["chalk-type paint"], "chalk-type paint {}% less"),
        (truth.size_elasticity * np.log(2), "twice the volume sells for {}% more"),
        (truth.gut_bias, "is {}% too high on the whole"),
    ):
        assert sentence.format(round(100 * abs(np.expm1(log_effect)))) in text


@pytest.mark.parametrize(
    ("what", "pattern"),
    [
        ("month/day/year", r"^\d{1,2}/\d{1,2}/2[34]$"),
        ("day month year", r"^\d{1,2} [A-Z][a-z]{2} 2025$"),
        ("year-month-day", r"^2026-\d\d-\d\d$"),
        ("dollars with a comma", r"^\$1,\d{3}$"),
        ("hours with their unit", r"^[\d.]+ hrs$"),
        ("hours and minutes", r"^\d+h \d+m$"),
        ("feet and inches", r"^\d+'\d+( 1/2)?\" x "),
        ("centimetres", r" cm$"),
        ("a misspelt wood", r"^(wallnut|mahagony|mapel|oack|chery)$"),
        ("free", r"^free$"),
        ("or best offer", r" obo$"),
        ("a pair", r"^pair of "),
        ("an unknown", r"^\?$"),
        ("a day that is none", r"^2/30/24$"),
        ("a totals line", r"^TOTAL$"),
    ],
)
def test_the_spreadsheet_is_as_untidy_as_a_real_one(what: str, pattern: str) -> None:
    cells = [cell for row in rows_of("flips.csv") for cell in row]
    assert any(re.search(pattern, cell) for cell in cells), what


def test_rows_kept_and_set_aside_are_all_the_rows_there_are(records: Records) -> None:
    below = rows_of("flips.csv")[3:]  # a title, a blank line and the headings stand above
    assert len(records.flips) == 162
    assert len(records.set_aside) == 6
    assert len(records.flips) + len(records.set_aside) == sum(any(row) for row in below)


def test_rows_are_set_aside_for_the_reasons_that_were_put_in(records: Records) -> None:
    said = " | ".join(records.set_aside["reason"])
    for reason in (
        "kind of piece is missing",
        "sold before it was bought",
        "headings again",
        "totals",
    ):
        assert reason in said
    assert said.count("the same as an earlier row in every cell") == 2
    unpriced = records.flips[
        records.flips["status"].eq("sold") & records.flips["sale_price"].isna()
    ]
    assert (
        len(unpriced) == 2
    )  # "120/140" and "110-120" are no amounts: sold all the same, at a price to be asked for


def test_the_shop_has_the_pieces_it_should(records: Records) -> None:
    counts = records.flips["status"].value_counts()
    assert 117 <= counts["sold"] <= 123
    assert counts["listed"] == 12
    assert counts["in work"] == 8
    assert 17 <= counts["withdrawn"] <= 23


def test_every_cell_is_read_as_it_was_drawn_or_left_out(
    records: Records, drawn: make_demo.Demo
) -> None:
    flips = records.flips[
        ~(records.flips["status"].eq("sold") & records.flips["sale_price"].isna())
    ]
    read, truth = flips.set_index("piece"), drawn.flips.set_index("piece")
    logged = drawn.events.query("event == 'hours'").groupby("piece")["amount"].sum()
    truth["hours"] = truth["hours"].astype(float).fillna(logged)
    lots = truth["bought_lot"].notna()
    assert list(read.index) == list(truth.index)
    for column in ("furniture_type", "wood", "construction", "finish", "style", "channel"):
        known = read[column].notna()
        assert (read[column] == truth[column])[known].all(), column
    for column in ("bought_on", "listed_on", "sold_on", "withdrawn_on"):
        known = read[column].notna()
        assert (read[column] == truth[column])[known].all(), column
        assert (known | truth[column].isna()).sum() >= len(truth) - 1, column  # one 30 February
    for column in ("sale_price", "asking_price"):
        np.testing.assert_array_equal(read[column], truth[column].astype(float))
    for column in ("width_in", "depth_in", "height_in"):
        off = (read[column] - truth[column]).abs()  # centimetres were rounded
        assert off.max() < 0.25, column
        assert off.notna().mean() > 0.9
    for column in ("hours", "materials_cost", "selling_fees", "gut_price", "grade"):
        off = (read[column] - truth[column].astype(float)).abs()
        assert off.max() == 0, column
    paid = truth["buy_price"].astype(float)
    np.testing.assert_array_equal(read["buy_price"][~lots], paid[~lots])
    assert read["buy_price"][lots].sum() == pytest.approx(paid[lots].sum(), abs=0.05)


def test_the_undone_offer_is_gone_and_the_newest_sales_are_known(records: Records) -> None:
    assert 2200 not in records.events["amount"].tolist()
    typed = {row[0] for row in rows_of("flips.csv") if len(row) > 25 and row[25]}
    sold = records.flips.loc[records.flips["status"] == "sold", "piece"]
    priced = records.flips.dropna(subset="sale_price")["piece"]
    assert len(set(sold) & set(priced) - typed) == 2  # these two are sold in events.csv alone


def test_price_changes_are_known_in_three_degrees(records: Records, drawn: make_demo.Demo) -> None:
    dated = set(records.events.query("event == 'asking_price'")["piece"])
    heading = rows_of("flips.csv")[2].index("Last asking")
    last = {row[0] for row in rows_of("flips.csv")[3:] if len(row) > heading and row[heading]}
    listed = set(drawn.flips.loc[drawn.flips["listed_on"].notna(), "piece"])
    assert len(dated) >= 10
    assert len(last - dated) >= 40
    assert len(listed - dated - last) >= 20


def test_finds_are_read_as_pieces(records: Records) -> None:
    finds = read_finds(FOLDER / "finds.csv", settings=records.settings, as_of=records.as_of)
    assert len(finds.flips) == 9
    assert not len(finds.set_aside)
    assert finds.flips[["furniture_type", "buy_price", "gut_price"]].notna().all(axis=None)


# ---- what the trade would say -------------------------------------------------------------------------

# Common practice, no source: hands-on hours and outside sizes (W, D, H in inches) of one piece.
HOURS = {
    "nightstand": (2, 5),
    "dresser": (6, 15),
    "dining table": (6, 14),
    "hutch": (12, 25),
}
SIZES = {
    "nightstand": ((16, 26), (12, 20), (22, 30)),
    "dresser": ((44, 72), (16, 24), (28, 38)),
    "chest of drawers": ((26, 44), (16, 22), (38, 60)),
    "sideboard": ((42, 80), (15, 22), (29, 42)),
    "hutch": ((34, 72), (14, 22), (66, 88)),
    "coffee table": ((34, 56), (16, 34), (14, 20)),
    "side table": ((12, 30), (12, 30), (18, 30)),
    "desk": ((36, 72), (18, 36), (28, 32)),
    "dining table": ((36, 108), (28, 48), (28, 31)),
    "bookcase": ((20, 60), (9, 18), (30, 90)),
}


def single_finished(flips: pd.DataFrame) -> pd.DataFrame:
    done = flips["listed_on"].notna() & (flips["pieces_in_lot"].fillna(1) == 1)
    return flips[done]


def test_hours_are_those_of_the_trade(records: Records) -> None:
    flips = single_finished(records.flips)
    for kind, (low, high) in HOURS.items():
        hours = flips.loc[flips["furniture_type"] == kind, "hours"].dropna()
        assert low <= hours.median() <= high
        assert hours.between(low, high).mean() >= 0.85, (kind, sorted(hours))


def test_sizes_are_those_of_the_trade(records: Records) -> None:
    for kind, bands in SIZES.items():
        flips = records.flips[records.flips["furniture_type"] == kind]
        for column, (low, high) in zip(("width_in", "depth_in", "height_in"), bands, strict=True):
            sizes = flips[column].dropna()
            assert sizes.between(low - 1, high + 1).mean() >= 0.85, (kind, column, sorted(sizes))


def test_prices_and_days_are_those_of_a_local_trade(records: Records) -> None:
    sold = records.flips[records.flips["status"] == "sold"]
    assert sold["sale_price"].dropna().between(50, 1200).all()
    assert records.flips["buy_price"].dropna().between(0, 150).all()
    days = sold["days_listed"]
    assert 7 <= days.median() <= 42  # one to six weeks is common practice
    assert days.max() < 300
    assert sold["sale_to_ask"].dropna().between(0.5, 1.1).all()


def correlation(a: Any, b: Any) -> float:
    pair = pd.DataFrame({"a": np.asarray(a, float), "b": np.asarray(b, float)}).dropna()
    return float(np.corrcoef(pair["a"], pair["b"])[0, 1])


def test_better_pieces_get_more_hours_better_finishes_and_are_asked_more(
    shops: list[make_demo.Demo],
) -> None:
    flips = pd.concat([d.flips for d in shops], ignore_index=True)
    hidden = pd.concat([d.hidden for d in shops], ignore_index=True)
    quality = hidden["hidden_quality"]
    clear = flips["finish"].isin(invented_truth.CLEAR).astype(float)
    usual_hours = flips["furniture_type"].map(lambda k: invented_truth.KINDS[k].hours)
    worked = np.log(hidden["true_hours"] / usual_hours) - np.log(1.8) * (flips["pieces_in_lot"] - 1)
    unseen = np.log(flips["asking_price"].astype(float)) - (np.log(hidden["true_price"]) - quality)
    assert correlation(quality, clear) > 0.05
    assert correlation(quality, worked) > 0.05
    assert correlation(flips["grade"], worked) > 0.1
    assert correlation(quality, unseen) > 0.5


def test_the_gut_price_is_mostly_too_high_and_knows_what_records_do_not(
    shops: list[make_demo.Demo],
) -> None:
    flips = pd.concat([d.flips for d in shops], ignore_index=True)
    hidden = pd.concat([d.hidden for d in shops], ignore_index=True)
    over = np.log(flips["gut_price"].astype(float) / hidden["true_price"]).dropna()
    truth = invented_truth.TRUTH
    assert over.mean() == pytest.approx(truth.gut_bias, abs=0.02)
    assert over.std() == pytest.approx(truth.gut_noise_sd, abs=0.02)
    assert flips["gut_price"].notna().mean() > 0.65


def test_asking_less_sells_faster_by_the_stated_hazard(shops: list[make_demo.Demo]) -> None:
    """Listings asked 10% or more above their true price sell later than those at or below it."""
    days: dict[bool, list[float]] = {True: [], False: []}
    for demo in shops:
        table = demo.flips.merge(demo.hidden, on="piece")
        over = np.log(table["asking_price"].astype(float) / table["true_price"])
        waited = (table["sold_on"] - table["listed_on"]).dt.days
        for dear in (True, False):
            chosen = over > 0.10 if dear else over < 0.02
            days[dear] += waited[chosen & waited.notna()].tolist()
    assert np.median(days[True]) > 1.5 * np.median(days[False])


# ---- the truth is found -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def price_fits(read_shops: list[Records]) -> list[PriceFit]:
    """From the shops' own sales alone: whether these tell the truth is the question here."""
    return [fit_prices(r.flips, as_of=r.as_of, borrow=False) for r in read_shops]


@pytest.fixture(scope="module")
def type_effects(price_fits: list[PriceFit]) -> pd.DataFrame:
    """The 95% interval of every type's effect in twenty shops, beside the truth (log, against the average)."""
    rows = []
    for fit in price_fits:
        table = fit.regressor.effects(0.95).query("feature == 'furniture_type'")
        truth = table["setting"].map(invented_truth.TRUTH.type_effect)
        truth = truth - (truth * table["sales"]).sum() / table["sales"].sum()
        low, high = np.log1p(table["low"] / 100), np.log1p(table["high"] / 100)
        estimate = np.log1p(table["effect"] / 100)
        rows.append(pd.DataFrame({"truth": truth, "estimate": estimate, "low": low, "high": high}))
    return pd.concat(rows, ignore_index=True)


def test_ninety_in_a_hundred_type_effect_intervals_hold_the_truth(
    type_effects: pd.DataFrame,
) -> None:
    held = type_effects["truth"].between(type_effects["low"], type_effects["high"])
    assert len(held) == 200
    assert held.mean() >= 0.90


def test_type_effects_follow_the_truth(type_effects: pd.DataFrame) -> None:
    assert correlation(type_effects["truth"], type_effects["estimate"]) > 0.85
    slope = np.polyfit(type_effects["truth"], type_effects["estimate"], 1)[0]
    assert 0.6 < slope < 1.1  # drawn in a little, as partial pooling means to


def test_eighty_percent_intervals_cover_held_back_sales(read_shops: list[Records]) -> None:
    inside: list[bool] = []
    for seed, records in enumerate(read_shops):
        sold = records.flips[records.flips["status"] == "sold"].sort_values("sold_on")
        back = np.arange(len(sold)) % 5 == seed % 5
        fit = fit_prices(sold[~back], as_of=records.as_of)
        columns = model_columns(sold[back], as_of=records.as_of)
        price = sold.loc[back, "sale_price"].to_numpy()
        low, high = fit.regressor.predict_interval(columns, 0.80).T
        inside += ((low <= price) & (price <= high)).tolist()
    assert len(inside) > 400
    assert 0.74 <= np.mean(inside) <= 0.86


def test_price_sensitivity_is_found_within_a_third(
    read_shops: list[Records], price_fits: list[PriceFit]
) -> None:
    found = []
    for records, prices in zip(read_shops[:10], price_fits[:10], strict=True):
        usual = pd.Series(prices.usual(records.flips, at_own_time=True), index=records.flips.index)
        usual[prices.sales.index] = prices.usual_left_out()
        listings = listing_histories(
            records.flips,
            records.events,
            usual_price=usual.to_numpy(),
            as_of=records.as_of,
        )
        fit = fit_selling_time(listings)
        hazard = fit.hazard("dresser", 400.0)
        rates = hazard.log_rate(np.array([400.0 * np.exp(-0.05), 400.0 * np.exp(0.05)]))
        found.append((rates[0] - rates[1]) / 0.10)
    assert np.median(found) == pytest.approx(invented_truth.TRUTH.sensitivity, rel=1 / 3)


def test_expected_hours_follow_the_truth(read_shops: list[Records]) -> None:
    ratios = []
    for records in read_shops[:5]:
        fit = fit_hours(records.flips)
        for kind in ("nightstand", "dresser", "hutch"):
            piece = pieces_like(kind)
            ratios.append(fit.expected(piece) / invented_truth.KINDS[kind].hours)
    assert np.median(ratios) == pytest.approx(1.0, abs=0.15)


def pieces_like(kind: str) -> Any:
    from fleetlib.records.piece import Piece

    width, depth, height = invented_truth.KINDS[kind].size
    return Piece(
        furniture_type=kind,
        wood="oak",
        finish="oil",
        width_in=width,
        depth_in=depth,
        height_in=height,
    )


def test_a_truth_that_is_not_there_is_not_found(read_shops: list[Records]) -> None:
    """The check of the check: with prices shuffled among the sales the intervals no longer hold the truth."""
    records = read_shops[0]
    sold = records.flips[records.flips["status"] == "sold"].dropna(subset="sale_price")
    prices = np.random.default_rng(1).permutation(sold["sale_price"].to_numpy())
    X = model_columns(sold, as_of=records.as_of)[["furniture_type", "wood", "size_cuft"]]
    table = HedonicRegressor().fit(X, prices).effects(0.95).query("feature == 'furniture_type'")
    truth = table["setting"].map(invented_truth.TRUTH.type_effect)
    truth = truth - (truth * table["sales"]).sum() / table["sales"].sum()
    held = truth.between(np.log1p(table["low"] / 100), np.log1p(table["high"] / 100))
    assert held.mean() < 0.90


@pytest.fixture(scope="module", autouse=True)
def _path_put_back() -> Iterator[None]:
    yield
    sys.path.remove(str(FOLDER))


def test_the_saved_advice_rests_on_what_was_known_on_its_day_and_moves_no_price(
    records: Records,
) -> None:
    log, flips = records.advice_log, records.flips.set_index("piece")
    assert sorted(log["date"].dt.strftime("%Y-%m-%d").unique()) == ["2026-07-01", "2026-08-15"]
    rows = flips.loc[log["piece"]]
    days = log["date"].to_numpy()
    assert (rows["listed_on"].to_numpy() <= days).all()
    for left in ("sold_on", "withdrawn_on"):
        assert not (rows[left].to_numpy() < days).any()
    # Advice before a listing would take the first asking price's word away; none of these leans on it.
    assert (rows["gut_price"].to_numpy() == log["gut_price"].to_numpy()).all()
    first = log[log["date"].eq("2026-07-01")]
    shop = {"A-230", "A-232", "A-233", "A-234", "A-236"}
    assert set(first["piece"]) == shop
    assert (first["low"] < first["mid"]).all()
    assert (first["mid"] < first["high"]).all()
