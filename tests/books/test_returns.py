"""Returns, refunds and kept deposits in the books: by hand, and to the cent over random histories."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlib.base.quarters import Quarter
from fleetlib.books.accounts import accounts
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import append_event

HEAD = "piece,furniture_type,sale_price\n"


def _shop(folder, events):
    (folder / "flips.csv").write_text(HEAD)
    (folder / "settings.toml").write_text("delivery_cost = 0\n")
    for on, piece, event, amount, note in events:
        append_event(folder, on=on, piece=piece, event=event, amount=amount, note=note)
    return read_records(folder, as_of=date(2026, 12, 31))


def _books(records, number):
    quarter = Quarter(2026, number)
    return accounts(records, start=quarter.start, end=quarter.end)


LIFE = [
    (date(2026, 1, 5), "A", "bought", 80, "furniture_type=dresser; wood=oak"),
    (date(2026, 1, 9), "A", "cost", 12.5, "paint"),
    (date(2026, 1, 9), "A", "hours", 6, "sand"),
    (date(2026, 2, 1), "A", "listed", 450, ""),
    (date(2026, 3, 20), "A", "sold", 420, "selling_fees=21"),
    (date(2026, 4, 10), "A", "returned", None, ""),
    (date(2026, 4, 12), "A", "cost", 4.25, "wax"),
    (date(2026, 5, 2), "A", "sold", 380, ""),
]


def test_both_quarters_of_a_piece_returned_and_sold_again_by_hand(tmp_path):
    # Receipts stay in the quarter of the sale; the return comes off those of its own quarter, and before the
    # cost of goods sold: Nunn v. Commissioner (US Tax Court memorandum opinion of 2002), page 16.
    records = _shop(tmp_path, LIFE)
    assert records.questions.empty
    first, second = _books(records, 1), _books(records, 2)
    assert first.value("takings") == 420
    assert first.value("fees") == 21
    assert first.value("cost of pieces sold") == 92.5  # 80 + 12.50
    assert first.value("profit") == 420 - 21 - 92.5
    assert first.stock.amount("closing") == 0
    assert second.value("takings") == 380
    assert second.value("returns and refunds") == 420
    assert second.value("cost of pieces returned") == 92.5
    assert second.value("cost of pieces sold") == 96.75  # with the wax
    assert second.value("profit") == 380 - 420 + 92.5 - 96.75
    assert second.stock.reconciled
    assert first.stock.reconciled
    assert second.part_three.cost_42 == 96.75 - 92.5
    both = first.value("profit") + second.value("profit")
    assert both == pytest.approx(380 - 21 - 80 - 12.5 - 4.25)


def test_a_part_refund_and_a_kept_deposit_count_on_their_own_days(tmp_path):
    records = _shop(
        tmp_path,
        [
            *LIFE[:4],
            (date(2026, 2, 3), "A", "deposit", 50, ""),
            (date(2026, 2, 9), "A", "backed_out", 20, "kept for the trouble"),
            (date(2026, 3, 20), "A", "sold", 420, ""),
            (date(2026, 4, 1), "A", "refund", 30, "a scratch"),
        ],
    )
    first, second = _books(records, 1), _books(records, 2)
    assert first.value("deposits kept") == 20
    assert first.value("profit") == 420 + 20 - 92.5
    assert second.value("returns and refunds") == 30
    assert second.value("profit") == -30
    assert records.flips["sale_price"].tolist() == [420]
    assert records.flips["profit"].tolist() == [420 - 30 - 92.5]


def test_a_deposit_is_held_until_the_sale_and_is_no_income_meanwhile(tmp_path):
    records = _shop(
        tmp_path,
        [
            *LIFE[:4],
            (date(2026, 3, 20), "A", "deposit", 50, ""),
            (date(2026, 4, 2), "A", "sold", 420, ""),
            (date(2026, 6, 1), "B", "bought", 10, "furniture_type=desk"),
            (date(2026, 6, 29), "B", "deposit", 15.5, ""),
            (date(2026, 7, 5), "B", "backed_out", None, "all given back"),
        ],
    )
    first, second, third = (_books(records, n) for n in (1, 2, 3))
    assert first.value("deposits held at the end") == 50
    assert first.value("profit") == 0
    assert second.value("deposits held at the end") == 15.5  # the 50 are part of the price now
    assert second.pieces("deposits held at the end")["piece"].tolist() == ["B"]
    assert second.value("profit") == 420 - 92.5
    assert "deposits held at the end" not in set(third.table["line"])
    assert third.value("profit") == 0


@st.composite
def regrouped(draw):
    """Two pieces, a split of one, a join of a part with the other; some of what comes of it sold, touched up."""
    cents = st.integers(0, 50_000)
    day, events, cash = date(2026, 1, 1), [], 0
    for name in ("M", "N"):
        day += timedelta(draw(st.integers(0, 60)))
        paid, spent = draw(cents), draw(cents)
        events.append((day, name, "bought", paid / 100, "furniture_type=chair"))
        note = draw(st.sampled_from(["paint", "hauling"]))
        events.append((day + timedelta(draw(st.integers(0, 9))), name, "cost", spent / 100, note))
        cash -= paid + spent
    day += timedelta(draw(st.integers(10, 60)))
    shares = draw(st.lists(st.integers(1, 9), min_size=3, max_size=3))
    told = f"into Ma, Mb, Mc by {', '.join(map(str, shares))}"
    events.append((day, "M", "split", None, told))
    standing = ["Ma", "Mb", "Mc", "N"]
    if draw(st.booleans()):
        day += timedelta(draw(st.integers(0, 60)))
        events.append((day, "S", "joined", None, "of Mb, N"))
        standing = ["Ma", "S", "Mc"]
    for name in standing:
        if draw(st.booleans()):
            price = draw(st.integers(1, 90_000))
            on = day + timedelta(draw(st.integers(1, 60)))
            events.append((on, name, "sold", price / 100, ""))
            events.append((on + timedelta(1), name, "touch_up", 0.5, ""))
            cash += price
    return events, cash


@st.composite
def lives_of_pieces(draw):
    """Events of up to three pieces over a year, each bought, worked on, sold, returned and sold again."""
    events, cash = [], 0
    cents = st.integers(0, 50_000)
    if draw(st.booleans()):
        more, cash = draw(regrouped())
        events += more
    for name in "ABC"[: draw(st.integers(1, 3))]:
        day = date(2026, 1, 1) + timedelta(draw(st.integers(0, 60)))
        paid = draw(cents)
        events.append((day, name, "bought", paid / 100, "furniture_type=desk"))
        cash -= paid
        for _ in range(draw(st.integers(0, 3))):
            day += timedelta(draw(st.integers(0, 25)))
            if draw(st.booleans()):
                spent = draw(cents)
                note = draw(st.sampled_from(["paint", "hauling"]))
                events.append((day, name, "cost", spent / 100, note))
                cash -= spent
            day += timedelta(draw(st.integers(1, 25)))
            if draw(st.booleans()):  # a deposit is nobody's income until it is kept
                events.append((day, name, "deposit", draw(cents) / 100, ""))
                if draw(st.booleans()):
                    kept = draw(cents)
                    events.append((day, name, "backed_out", kept / 100, ""))
                    cash += kept
                day += timedelta(1)
            price = draw(st.integers(1, 90_000))
            events.append((day, name, "sold", price / 100, ""))
            cash += price
            if draw(st.booleans()):
                back = draw(st.integers(0, price))
                events.append((day, name, "refund", back / 100, ""))
                price, cash = price - back, cash - back
            if draw(st.booleans()):
                break
            if draw(st.booleans()):  # spent while the buyer has it
                spent = draw(cents)
                events.append((day + timedelta(1), name, "cost", spent / 100, "hauling"))
                cash -= spent
            day += timedelta(draw(st.integers(1, 40)))
            back = draw(st.integers(0, price))
            events.append((day, name, "returned", back / 100, ""))
            cash -= back
    return events, cash


@settings(max_examples=25)
@given(history=lives_of_pieces())
def test_the_quarters_of_any_history_add_up_to_the_cash_and_the_stock(history, tmp_path_factory):
    events, cash = history
    records = _shop(tmp_path_factory.mktemp("shop"), events)
    books = [_books(records, n) for n in (1, 2, 3, 4)]
    assert all(b.stock.unexplained == 0 for b in books)
    assert all(b.stock.explained.empty for b in books)
    for before, after in pairwise(books):
        assert after.stock.amount("opening") == before.stock.amount("closing")
    profit = sum(round(100 * b.value("profit")) for b in books)
    assert profit == cash + round(100 * books[-1].stock.amount("closing"))
