"""Each picture against its result: what is drawn, what the title says, what the words say."""

import io
import re
from dataclasses import replace
from datetime import date
from itertools import combinations
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.dates import num2date
from matplotlib.patches import Rectangle
from matplotlib.text import Text
from PIL import Image

from fleetlib.base.kept_numbers import numbers_kept_for
from fleetlib.base.money import format_money
from fleetlib.buying import what_to_pay as buying
from fleetlib.desk.pictures import drawn_kinds, picture, picture_alt, picture_png
from fleetlib.finish import finish_choice as finishes
from fleetlib.pay import earnings, work_order
from fleetlib.plan import markdowns
from fleetlib.plan.solver.path import Terms, path_value
from fleetlib.price import estimate
from fleetlib.price.regression.ordinary import ordinary_regression
from fleetlib.quarter import review
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.selling.kaplan_meier import days_to_sell
from fleetlib.selling.market import market_for
from fleetlib.shown.chart_style import PHONE_IN, RED, WIDTH_IN, Picture, as_wide_as
from fleetlib.trust import accuracy as accuracy_advice
from fleetlib.week import advice as sheet

FIND = Piece(
    furniture_type="dresser", wood="oak", finish="oil",
    width_in=52, depth_in=18, height_in=32, buy_price=90, gut_price=380,
)  # fmt: skip


def money(value: float) -> str:
    return format_money(value, "USD")


def drawn(figure: Picture, label: str) -> np.ndarray:
    """The points of the scatter of that name in the key, over all axes."""
    found = [c for a in figure.axes for c in a.collections if c.get_label() == label]
    assert found, f"nothing is called {label}"
    return np.asarray(found[0].get_offsets(), float)


def texts(figure: Picture) -> str:
    return " | ".join(t.get_text() for t in figure.findobj(Text) if t.get_text())


@pytest.fixture(scope="module")
def on_hand(demo_fits) -> Piece:
    """A listed piece with a price idea of its own and a plan that comes down."""
    flips = demo_fits.records.flips
    listed = flips[(flips["status"] == "listed") & flips["gut_price"].notna()]
    for _, row in listed.iterrows():
        piece = piece_from_row(row)
        if len(markdowns.plan(demo_fits, piece, alternatives=False).table) > 1:
            return piece
    raise AssertionError("no listed piece of the demo comes down")


@pytest.fixture(scope="module")
@numbers_kept_for(Path(__file__))  # others ask the same of the demo
def results(demo_fits, on_hand) -> dict[str, object]:
    """One result of each kind that has a picture, all from the demo shop."""
    summary = demo_fits.prices.regressor.summary(currency="USD")
    made = [
        estimate.estimate(demo_fits, on_hand),
        markdowns.plan(demo_fits, on_hand),
        sheet.advise(demo_fits, on_hand),
        earnings.earnings(demo_fits),
        accuracy_advice.accuracy(demo_fits),
        buying.what_to_pay(demo_fits, FIND),
        buying.best_buys(demo_fits, demo_fits.records.folder / "finds.csv", cash=300, hours=30),
        work_order.what_next(demo_fits),
        demo_fits.prices,
        summary,
        review.review(demo_fits, "2026-Q3"),
        finishes.finish_choice(demo_fits, FIND),
        summary.ordinary,
        demo_fits.selling,
        days_to_sell(demo_fits.records.flips),
    ]
    return {type(one).__name__: one for one in made}


def test_every_kind_of_result_that_has_a_picture_is_tried_here(results):
    assert set(results) == drawn_kinds()


@pytest.mark.parametrize("kind", sorted(drawn_kinds()))
def test_a_picture_has_a_finding_for_a_title_and_says_more_in_words(results, kind):
    figure = picture(results[kind])
    assert figure.get_suptitle().replace("\n", " ") == figure.title
    assert figure.alt.startswith(figure.title) or figure.title in figure.alt
    assert len(figure.alt) > len(figure.title) + 40
    assert picture_alt(results[kind]) == figure.alt
    assert "nan" not in figure.alt.lower().replace("finan", "")
    assert to_hex(figure.get_facecolor()) == "#ffffff"


def written(axes: Axes) -> list[Text]:
    """What can be read on one pair of axes: labels, names of rows, ticks inside the scale."""
    (left, right), (bottom, top) = axes.get_xlim(), sorted(axes.get_ylim())
    across = [t for t in axes.get_xticklabels() if left <= t.get_position()[0] <= right]
    up = [t for t in axes.get_yticklabels() if bottom <= t.get_position()[1] <= top]
    found = [*axes.texts, *across, *up, axes.title, axes._left_title, axes.xaxis.label]
    return [t for t in found if t.get_text() and t.get_visible()]


def must_be_readable(figure: Picture) -> None:
    """Nothing written is cut off at the edge of the picture, and no two labels of one scale touch."""
    FigureCanvasAgg(figure).draw()
    page = figure.bbox
    title = figure._suptitle.get_window_extent()
    assert page.x0 <= title.x0 <= title.x1 <= page.x1
    for axes in figure.axes:
        # Of the letters alone: an annotation's own extent takes its arrow in.
        boxes = [(text.get_text(), Text.get_window_extent(text)) for text in written(axes)]
        for words, box in boxes:
            assert page.x0 - 1 <= box.x0 <= box.x1 <= page.x1 + 1, words
            assert page.y0 - 1 <= box.y0 <= box.y1 <= page.y1 + 1, words
        for (one, a), (other, b) in combinations(boxes, 2):
            wide = min(a.x1, b.x1) - max(a.x0, b.x0)
            tall = min(a.y1, b.y1) - max(a.y0, b.y0)
            assert wide <= 2 or tall <= 2, f"{one!r} runs into {other!r}"


@pytest.mark.parametrize("kind", sorted(drawn_kinds()))
def test_nothing_written_is_cut_off_and_no_two_labels_run_into_each_other(results, kind):
    must_be_readable(picture(results[kind]))


@pytest.mark.parametrize("kind", sorted(drawn_kinds() - {"PriceFit", "HedonicSummary"}))
def test_a_phone_gets_the_picture_narrow_with_letters_of_eleven_pixels(results, kind):
    with as_wide_as(PHONE_IN):
        figure = picture(results[kind])
    must_be_readable(figure)
    assert int.from_bytes(figure.png()[16:20], "big") == 656
    smallest = min(t.get_fontsize() for t in figure.findobj(Text) if t.get_text())
    shown = (390 - 2 * 11.2) / PHONE_IN  # pixels an inch on a phone of 390 with the page's margins
    assert smallest / 72 * shown >= 11
    assert smallest >= 8  # points on paper, where it is printed at its own size


def test_the_dark_picture_keeps_hues_and_stands_out_from_the_dark_page(results):
    figure = picture(results["MarkdownPlan"])
    with (
        Image.open(io.BytesIO(figure.dark_png())) as dark,
        Image.open(io.BytesIO(figure.png())) as light,
    ):
        assert dark.size == light.size
        assert light.convert("RGB").getpixel((2, 2)) == (255, 255, 255)
        assert dark.convert("RGB").getpixel((2, 2)) == (0x1C, 0x1A, 0x17)  # the pages' own paper
        colours = {c for _, c in dark.convert("RGB").getcolors(100_000)}
    assert max(sum(c) for c in colours) > 600, "letters are light"
    blue = [c for c in colours if c[2] > 180 and c[2] > c[0] + 80]
    assert blue, "the asks are blue still"


def test_every_piece_on_hand_has_a_readable_plan_and_strip(demo_fits):
    flips = demo_fits.records.flips
    for _, row in flips[flips["status"].isin(["listed", "in work"])].iterrows():
        piece = piece_from_row(row)
        must_be_readable(picture(markdowns.plan(demo_fits, piece, alternatives=False)))
        must_be_readable(picture(estimate.estimate(demo_fits, piece)))


@pytest.mark.parametrize("inches", [WIDTH_IN, PHONE_IN])
def test_names_made_of_kind_and_day_leave_room_for_the_marks_above_the_strip(demo_fits, inches):
    flips = demo_fits.records.flips
    for _, row in flips[flips["status"] == "listed"].head(6).iterrows():
        made = estimate.estimate(demo_fits, piece_from_row(row))
        sales = made.comparables.assign(piece="walnut dining table of 16 Mar 2026")
        for idea in (made.mid, made.high, made.piece.gut_price):
            piece = replace(made.piece, gut_price=idea)
            with as_wide_as(inches):
                figure = picture(replace(made, piece=piece, comparables=sales))
            must_be_readable(figure)
            assert not any("\N{HORIZONTAL ELLIPSIS}" in t.get_text() for t in figure.findobj(Text))


def test_a_crowd_of_groups_with_long_names_is_still_readable(demo_fits):
    must_be_readable(
        picture(earnings.earnings(demo_fits, by=("furniture_type", "finish", "style")))
    )


def test_words_of_the_records_are_shown_as_they_are(demo_fits, on_hand):
    odd = replace(on_hand, piece="$1 & <b>A_1^2</b> $2")
    figure = picture(estimate.estimate(demo_fits, odd))
    assert "$1 & <b>A_1^2</b> $2" in figure.title
    assert "<b>" not in figure._repr_html_()
    must_be_readable(figure)


@pytest.mark.parametrize("kind", sorted(drawn_kinds()))
def test_a_picture_is_a_png_of_the_common_width_and_small(results, kind):
    png = picture_png(results[kind])
    assert png.startswith(b"\x89PNG")
    assert int.from_bytes(png[16:20], "big") == 1280
    assert len(png) < 150_000


def test_the_strip_runs_from_low_to_high_with_each_comparable_sale_on_its_row(results):
    result = results["PriceEstimate"]
    figure = picture(result)
    bars = [p for p in figure.axes[0].patches if isinstance(p, Rectangle) and p.get_height() == 0.5]
    assert (bars[0].get_x(), bars[0].get_x() + bars[0].get_width()) == pytest.approx(
        (result.low, result.high)
    )
    near = result.comparables.head(6)
    assert drawn(figure, "sold for")[:, 0] == pytest.approx(near["sale_price"])
    assert drawn(figure, "adjusted to this piece")[:, 0] == pytest.approx(near["adjusted_price"])
    for value in (result.low, result.mid, result.high):
        assert money(value) in texts(figure)
        assert money(value) in figure.alt
    for name, paid in zip(near["piece"], near["sale_price"], strict=True):
        assert name in figure.alt
        assert money(paid) in figure.alt


def test_the_owners_idea_and_the_asking_price_are_on_the_strip(results, on_hand):
    figure = picture(results["PriceEstimate"])
    idea = money(on_hand.gut_price)
    assert f"your idea {idea}" in texts(figure)
    assert f"idea {idea}" in figure.alt
    asked = on_hand.last_asking_price or on_hand.asking_price
    assert money(asked) in texts(figure)


def test_the_plan_is_drawn_as_its_steps_its_offers_and_its_chances(results):
    result = results["MarkdownPlan"]
    figure = picture(result)
    top, bottom = figure.axes
    steps = {p.get_label(): p for p in top.patches}
    assert steps["asking price"].get_data().values == pytest.approx(result.table["asking_price"])
    assert steps["lowest offer worth taking"].get_data().values == pytest.approx(
        result.weekly["lowest_offer"]
    )
    days = [num2date(x).date() for x in steps["asking price"].get_data().edges]
    assert days == [*(d.date() for d in result.table["from_date"]), result.ends_on]
    line = bottom.lines[0].get_ydata()
    assert line == pytest.approx([0.0, *result.weekly["chance_sold"]])
    ask = result.table["asking_price"]
    assert f"ask {money(ask.iloc[0])}" in figure.title
    assert money(ask.iloc[-1]) in figure.title
    for share in result.table["chance_sold"]:
        assert f"{100 * share:.0f}% sold" in figure.alt


def test_an_offer_on_the_table_is_on_the_picture_and_answered_in_its_title(demo_fits, on_hand):
    low = markdowns.plan(demo_fits, on_hand, offer=20)
    figure = picture(low)
    assert "the offer, $20" in texts(figure)
    assert "the offer on the table is $20" in figure.alt
    assert f": not for $20, from about {money(low.offer.lowest)} on. Else ask" in figure.title
    high = markdowns.plan(demo_fits, on_hand, offer=low.offer.lowest + 1)
    assert f": take the offer of {money(low.offer.lowest + 1)}." in picture(high).title
    near = [
        markdowns.plan(demo_fits, on_hand, offer=s * low.offer.lowest) for s in (0.8, 0.9, 0.97)
    ]
    for offered in (low, *near, high):
        must_be_readable(picture(offered))
        with as_wide_as(PHONE_IN):
            must_be_readable(picture(offered))


def test_a_piece_not_worth_waiting_for_says_so_instead_of_a_plan(results):
    result = results["MarkdownPlan"]
    given_up = replace(result, take_salvage_now=True, table=result.table.iloc[:0])
    figure = picture(given_up)
    assert "take the salvage value" in figure.title
    assert money(result.salvage) in figure.alt
    assert figure.png()


def test_the_advice_is_the_strip_over_the_plan_and_without_an_estimate_the_plan(results):
    result = results["Advice"]
    figure = picture(result)
    assert len(figure.axes) == 3
    assert money(result.estimate.mid) in figure.alt
    assert money(result.plan.table["asking_price"].iloc[-1]) in figure.alt
    assert len(picture(replace(result, estimate=None)).axes) == 2


def test_pay_is_a_dot_a_group_whose_area_is_the_hours(results):
    result = results["EarningsTable"]
    figure = picture(result)
    filled = drawn(figure, "steadied pay an hour; the larger, the more hours")
    enough = result.table[result.table["says"] == ""]
    assert filled[:, 0] == pytest.approx(enough["shrunk"])
    dots = next(
        c for c in figure.axes[0].collections if c.get_label().startswith("steadied pay an hour")
    ).get_sizes()
    hours = enough["hours"].to_numpy()
    large = dots > 22.5
    assert large.sum() >= 5, "the smallest dots are kept visible, the others are to scale"
    assert dots[large] / dots.max() == pytest.approx(hours[large] / hours.max())
    assert f"whole shop {money(result.shop.value)}" in texts(figure)
    for pay in [*result.table["per_hour"], *result.table["shrunk"]]:
        assert money(pay) in figure.alt
    plain = next(li for li in figure.axes[0].lines if li.get_label() == "before steadying")
    assert plain.get_xdata() == pytest.approx(result.table["per_hour"])
    assert (np.diff(filled[:, 0]) <= 1e-9).all(), "the order is that of the dots"


def test_a_group_too_small_to_judge_is_a_ring_and_an_unbounded_range_an_arrow(results):
    result = results["EarningsTable"]
    table = result.table.head(4).copy()
    table.loc[1, "says"] = "too few to say"
    table.loc[2, ["low", "high", "unbounded"]] = [-np.inf, np.inf, True]
    figure = picture(replace(result, table=table))
    assert drawn(figure, "too few to say")[:, 0] == pytest.approx([table.loc[1, "shrunk"]])
    shapes = [
        line.get_marker()
        for line in figure.axes[0].lines
        if len(line.get_ydata()) < 3 and line.get_ydata()[0] == 2
    ]
    assert {"<", ">"} <= set(shapes)
    assert "no limits can be given" in figure.alt


def test_what_is_not_recorded_stands_apart_below_the_channels(demo_fits):
    result = earnings.earnings(demo_fits, by="channel")
    figure = picture(result)
    at = result.table["channel"].tolist().index("not recorded")
    assert at == len(result.table) - 1
    rules = [li for li in figure.axes[0].lines if set(li.get_ydata()) == {at - 0.5}]
    assert len(rules) == 1


def test_a_sale_outside_its_range_is_a_cross_and_is_counted(results):
    result = results["AccuracyStudy"]
    figure = picture(result)
    judged = result.backtest if len(result.backtest) >= 15 else result.sales
    inside = judged["sale_price"].between(judged["low_80"], judged["high_80"])
    assert f"{inside.sum()} of {len(judged)} sales" in figure.title
    assert f"{(~inside).sum()} fell outside" in figure.alt
    dots = next(c for c in figure.axes[0].collections if len(c.get_offsets()) == len(judged))
    assert np.asarray(dots.get_offsets()) == pytest.approx(
        judged[["estimate", "sale_price"]].to_numpy()
    )
    colours = [to_hex(c) for c in dots.get_facecolors()]
    assert [c == RED.lower() for c in colours] == list(~inside)
    assert len({p.vertices.shape for p in dots.get_paths()}) == 2, "two shapes beside two colours"


def test_effects_are_in_per_cent_filled_where_the_range_leaves_nothing_out(results):
    result = results["HedonicSummary"]
    figure = picture(result)
    largest_forty = np.log1p(result.table["effect"] / 100).abs().nlargest(40).index
    table = result.table.loc[sorted(largest_forty)]
    sure = (table["low"] > 0) | (table["high"] < 0)
    assert drawn(figure, "moves the price")[:, 0] == pytest.approx(table.loc[sure, "effect"])
    assert drawn(figure, "may be nothing")[:, 0] == pytest.approx(table.loc[~sure, "effect"])
    largest = np.log1p(table.loc[sure, "effect"] / 100).abs().idxmax()
    assert f"({table.loc[largest, 'effect']:+.0f}%)" in figure.title
    assert picture(results["PriceFit"]).alt == figure.alt


def test_residuals_beyond_two_standard_deviations_are_counted():
    draw = np.random.default_rng(2026)
    X = pd.DataFrame({"size": draw.normal(size=60)})
    y = X["size"] + draw.normal(size=60)
    y.iloc[7] = 9.0
    fit = ordinary_regression(X, y)
    far = int((np.abs(fit.residuals) > 2 * fit.residual_sd).sum())
    figure = picture(fit)
    assert far >= 1
    assert figure.title.startswith(f"{far} of 60 sales")


def test_residuals_of_log_prices_are_in_money_and_per_cent(results):
    fit = results["OrdinaryRegression"]
    assert fit.of_logs
    figure = picture(fit)
    points = np.vstack([np.asarray(c.get_offsets(), float) for c in figure.axes[0].collections])
    assert sorted(points[:, 0]) == pytest.approx(sorted(np.exp(fit.fitted)))
    # What was paid again, from both: fitted x (1 + per cent).
    paid = sorted(points[:, 0] * (1 + points[:, 1] / 100))
    assert paid == pytest.approx(sorted(np.exp(fit.fitted + fit.residuals)))
    worst = int(np.argmax(np.abs(fit.residuals)))
    off = float(np.exp(fit.fitted[worst] + fit.residuals[worst]) - np.exp(fit.fitted[worst]))
    sign = "+" if off > 0 else "-"
    assert f"{sign}${abs(off):,.0f} ({100 * np.expm1(fit.residuals[worst]):+.0f}%)" in texts(figure)


def test_what_to_pay_is_a_dot_and_breaking_even_a_ring_on_every_row(results):
    result = results["BuyAdvice"]
    figure = picture(result)
    assert drawn(figure, "pay at most")[:, 0] == pytest.approx(result.moves["highest_price"])
    assert drawn(figure, "comes out even")[:, 0] == pytest.approx(result.moves["even_price"])
    assert money(result.highest_price) in figure.title
    assert "asked $90" in texts(figure)


def test_finds_to_buy_are_named_first_and_in_the_title(results):
    result = results["BestBuys"]
    figure = picture(result)
    bought = result.table[result.table["buy"]]
    assert drawn(figure, "asked")[:, 0] == pytest.approx(result.table["asked"])
    assert all(str(f) in figure.title for f in bought["find"])
    assert texts(figure).count("BUY") == len(bought)
    for why in result.table.loc[~result.table["buy"], "why"]:
        assert f"an hour, {why}" in texts(figure), "the reason stands in its row"
    assert figure.alt.count(", buy") == len(bought)
    told = re.search(r"expected profit \S+", figure.title)
    assert told and f"{told[0]}," in " ".join(
        str(result).split()
    )  # the title counts on no more than the answer


def test_no_find_worth_buying_is_said(results):
    result = results["BestBuys"]
    none = replace(result, table=result.table.assign(buy=False))
    assert picture(none).title.startswith("Buy none of these")


def test_the_next_work_is_in_the_title_and_its_range_on_the_picture(results):
    result = results["WorkOrder"]
    figure = picture(result)
    first = result.table.iloc[0]
    assert str(first["piece"]) in figure.title
    assert money(first["per_hour"]) in figure.title
    assert money(first["high"]) in figure.alt


def test_the_quarter_stands_beside_the_two_others_with_their_values(results):
    result = results["QuarterReview"]
    figure = picture(result)
    lines = result.table.set_index("line")
    panels = {a.get_title(loc="left"): a for a in figure.axes}
    widths = [bar.get_width() for bar in panels["takings"].patches]
    assert widths == pytest.approx(lines.loc["takings", ["this", "previous", "year_before"]])
    looks = {(bar.get_hatch() or "", bar.get_facecolor()) for bar in panels["takings"].patches}
    assert len(looks) == 3, "no two quarters look the same on a grey print"
    assert money(lines.loc["profit", "this"]) in figure.title
    for name, days in zip(result.ageing["piece"], result.ageing["days_listed"], strict=True):
        assert f"{name}, " in figure.alt
        assert f"{days:.0f} days" in figure.alt


def test_a_piece_to_come_down_on_and_one_to_let_go_have_shapes_of_their_own(results):
    result = results["QuarterReview"]
    ageing = result.ageing.head(3).copy()
    ageing["let_go"] = [False, False, True]
    ageing["plan_price"] = ageing["asking_price"] - [0.0, 50.0, 0.0]
    figure = picture(replace(result, ageing=ageing))
    for words, row in (("hold", 0), ("come down now", 1), ("let it go", 2)):
        assert drawn(figure, words)[:, 1].tolist() == [row]
    assert "come down now" in figure.alt


def test_each_finish_has_its_price_its_pay_and_its_chance(results):
    result = results["FinishChoice"]
    figure = picture(result)
    judged = result.table[result.table["says"].ne("too few to say")]
    assert drawn(figure, "an hour brings")[:, 0] == pytest.approx(judged["per_hour"])
    assert (judged["per_hour_low"] < judged["per_hour"]).all()
    assert (judged["per_hour"] < judged["per_hour_high"]).all()
    for price in result.table["price"]:
        assert money(price) in figure.alt
    best = result.table.iloc[0]
    assert f"went with {best['finish']}" in figure.title  # no price as found: none is called best
    assert money(best["per_hour"]) in figure.title
    for finish in result.table["finish"]:
        assert finish in figure.alt


def test_a_quarter_long_past_does_not_show_the_stock_of_today(demo_fits, results):
    figure = picture(review.review(demo_fits, "2026-Q1"))
    assert "on the market" not in figure.title + figure.alt
    assert "On the market" not in texts(figure)
    assert "On the market" in texts(picture(results["QuarterReview"]))


def test_a_shop_without_a_second_quarter_gets_its_picture_all_the_same(demo_fits):
    first = demo_fits.records.flips["bought_on"].min().date()
    quarter = f"{first.year}-Q{(first.month - 1) // 3 + 1}"
    figure = picture(review.review(demo_fits, quarter))
    assert quarter in figure.title
    assert figure.png()
    assert date(2026, 9, 30) == demo_fits.as_of


def test_days_to_sell_is_a_staircase_with_its_median(results):
    result = results["DaysToSell"]
    figure = picture(result)
    stairs = next(line for line in figure.axes[0].lines if line.get_label() == "share sold")
    table = result.table[result.table["at_risk"] >= 5]
    assert stairs.get_ydata()[1:-1] == pytest.approx(1 - table["unsold"])
    assert f"within {result.median:.0f} days" in figure.title
    assert f"{result.sold} of {result.listings} listings" in figure.alt


def test_nothing_sold_yet_is_said_and_drawn_without_a_staircase():
    flips = pd.DataFrame(
        {
            "listed_on": pd.to_datetime(["2026-09-01"]),
            "sold_on": pd.to_datetime([None]),
            "sale_price": [np.nan],
            "days_listed": [29.0],
        }
    )
    figure = picture(days_to_sell(flips))
    assert figure.title.startswith("Nothing has sold yet")
    assert figure.png()


def test_the_chance_sold_against_the_ask_is_that_of_the_planner(results):
    result = results["SellingTimeFit"]
    figure = picture(result)
    line = next(line for line in figure.axes[0].lines if line.get_label() == "within 8 weeks")
    above, chance = line.get_xdata(), line.get_ydata()
    hazard = result.hazard("", 100.0, 100.0 * float(np.exp(result.signal_mean)))
    for k in (0, 30, 59):
        ask = 100.0 * (1 + above[k] / 100)
        market = market_for(hazard, np.array([ask]), horizon_weeks=8)
        terms = Terms(holding_per_week=0.0, salvage=0.0, most_markdowns=0, weeks_between=1)
        sold = path_value(np.full(8, ask), market, terms).sold_by[-1]
        assert chance[k] == pytest.approx(sold, abs=1e-6)
    assert (np.diff(chance) < 0).all()
    band = figure.axes[0].collections[0]
    assert to_hex(band.get_facecolor()[0]) == line.get_color().lower()
    assert result.learned in figure.title
