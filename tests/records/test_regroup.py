"""A pair sold apart, two chairs made a set: by lines, in the books of every quarter, in the story of each piece."""

from datetime import date

import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.quarters import Quarter
from fleetlib.books.accounts import accounts
from fleetlib.desk.logging_lines import log_entry, understood
from fleetlib.records.folder import Records, read_records
from fleetlib.records.log.grammar import read_entry
from fleetlib.records.log.regroup import parts_of
from fleetlib.week.piece import story

TODAY = date(2026, 12, 31)
PAIR = [
    "bought P-1 for 80.01 furniture_type=nightstand pieces_in_lot=2 wood=oak on 2026-01-05",
    "worked P-1 3 h sand on 2026-01-09",
    "cost P-1 10.01 paint on 2026-02-09",
]


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "flips.csv").write_text("piece,furniture_type,sale_price\n")
    (tmp_path / "settings.toml").write_text("as_of = 2026-12-31\ndelivery_cost = 0\n")
    return tmp_path


def _log(shop, *lines) -> Records:
    for line in lines:
        records = read_records(shop, as_of=TODAY)
        log_entry(records, understood(records, line))
    return read_records(shop, as_of=TODAY)


def _books(records, number):
    quarter = Quarter(2026, number)
    return accounts(records, start=quarter.start, end=quarter.end)


def test_a_pair_split_in_shares_is_two_pieces_and_every_cent_keeps_its_day(shop):
    before = _log(shop, *PAIR)
    after = _log(shop, "split P-1 into P-1a and P-1b by 60 40 on 2026-05-01")
    assert after.questions.empty
    rows = after.flips.set_index("piece")
    assert list(rows.index) == ["P-1a", "P-1b"]
    assert rows["buy_price"].tolist() == [48.01, 32.00]  # 60% and 40% of 80.01, in cents
    assert rows["materials_cost"].tolist() == [6.01, 4.00]
    assert rows["hours"].tolist() == pytest.approx([1.8, 1.2])
    assert rows["pieces_in_lot"].tolist() == [1, 1]
    assert rows["wood"].tolist() == ["oak", "oak"]
    for number in (1, 2):
        was, now = _books(before, number), _books(after, number)
        for line in ("opening", "bought", "materials", "closing"):
            assert now.stock.amount(line) == was.stock.amount(line)
        assert now.stock.reconciled
    sold = _log(
        shop, "listed P-1a at 90 gut_price=80 on 2026-05-02", "sold P-1a for 85 on 2026-06-01"
    )
    assert _books(sold, 2).value("profit") == 30.98  # 85 - 48.01 - 6.01
    assert sold.flips.set_index("piece").loc["P-1a", "gut_price"] == 80
    assert _books(sold, 2).stock.amount("closing") == 36


@pytest.mark.parametrize(
    ("pieces", "into", "each"),
    [("4", "Q-1 Q-2", [2, 2]), ("3", "Q-1 Q-2", None), ("", "Q-1 Q-2 Q-3", None)],
)
def test_a_split_lot_counts_evenly_or_not_at_all(shop, pieces, into, each):
    """A set of four in two is two pairs; where the count does not come out even, or was never told, none is told."""
    count = f" pieces_in_lot={pieces}" if pieces else ""
    records = _log(
        shop,
        f"bought Q for 80 furniture_type=chair{count} on 2026-01-05",
        f"split Q into {into} on 2026-05-01",
    )
    counts = records.flips["pieces_in_lot"]
    assert counts.isna().all() if each is None else counts.tolist() == each


def test_a_joined_lot_counts_each_part_and_a_part_that_says_nothing_as_one(shop):
    records = _log(
        shop,
        "bought Q-1 for 80 furniture_type=chair pieces_in_lot=2 on 2026-01-05",
        "bought Q-2 for 30 furniture_type=chair on 2026-01-06",
        "joined Q-1 Q-2 as Q on 2026-05-01",
    )
    assert records.flips["pieces_in_lot"].tolist() == [3]


def test_two_pieces_joined_keep_what_each_cost_on_its_own_day(shop):
    parts = [
        "bought C-1 for 20.50 furniture_type=chair wood=oak on 2026-01-05",
        "bought C-2 for 35 furniture_type=chair wood=pine on 2026-04-05",
        "cost C-2 4 wax on 2026-04-09",
        "worked C-1 2 h on 2026-04-10",
    ]
    before = _log(shop, *parts)
    after = _log(shop, "joined C-1 C-2 as C-3 on 2026-07-01")
    row = after.flips.iloc[0]
    assert (row["piece"], row["buy_price"], row["materials_cost"], row["hours"]) == (
        "C-3",
        55.5,
        4,
        2,
    )
    assert (row["pieces_in_lot"], row["furniture_type"]) == (2, "chair")
    assert row["wood"] != row["wood"]  # oak and pine: the set is neither
    for number in (1, 2, 3):
        was, now = _books(before, number), _books(after, number)
        for line in ("opening", "bought", "materials", "closing"):
            assert now.stock.amount(line) == was.stock.amount(line), (number, line)
        assert now.stock.reconciled
    sold = _log(shop, "sold C-3 for 140 on 2026-08-01", "returned C-3 on 2026-10-02")
    assert _books(sold, 3).value("profit") == 140 - 55.5 - 4
    assert _books(sold, 4).stock.amount("closing") == 59.5


def test_the_story_of_each_reaches_over_the_split(shop):
    records = _log(shop, *PAIR, "split P-1 into P-1a P-1b on 2026-05-01: sold apart")
    told = story(records, "p-1A")
    assert told.table["what"].tolist() == ["bought", "hours", "cost", "split"]
    assert told.table["note"].iloc[-1].startswith("as P-1; into P-1a, P-1b")
    whole = story(records, "P-1")
    assert "It lives on as P-1a, P-1b." in str(whole)
    assert whole.table["what"].tolist() == ["bought", "hours", "cost", "split"]


@pytest.mark.parametrize(
    ("first", "line", "why"),
    [
        ((), "split P-1 into P-2", "into what"),
        ((), "split P-1 into P-1a P-1b by 60", "2 pieces, 1 shares"),
        ((), "split P-1 into P-1a P-1b by 60 none", "no share"),
        ((), "joined P-1 as P-2", "with what"),
        ((), "split P-9 into A B", 'no piece called "P-9"'),
        ((), "joined P-1 P-9 as P-2", 'no piece called "P-9"'),
        (("bought Q for 5 furniture_type=desk",), "split P-1 into Q R", "called Q already"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_missing(shop, first, line, why):
    records = _log(shop, *PAIR, *first)
    with pytest.raises(BadQuestion, match=why):
        understood(records, line)


@pytest.mark.parametrize(
    ("before", "why"),
    [
        (["sold P-1 for 300 on 2026-03-01"], "was sold before"),
        (["kept P-1 on 2026-03-01"], "was kept"),
        (["sold P-1 for 300 on 2026-03-01", "returned P-1 on 2026-03-09"], "was sold before"),
    ],
)
def test_a_piece_that_was_sold_is_not_split_but_asked_about(shop, before, why):
    records = _log(shop, *PAIR, *before)
    events = (shop / "events.csv").read_text()
    with_split = events + '2026-05-01,P-1,split,,"into P-1a, P-1b"\n'
    (shop / "events.csv").write_text(with_split)
    after = read_records(shop, as_of=TODAY)
    assert why in after.questions["question"].iloc[-1]
    assert after.flips["piece"].tolist() == records.flips["piece"].tolist()
    assert _books(after, 1).value("profit") == _books(records, 1).value("profit")


def test_an_entry_after_the_split_under_the_old_name_is_said(shop):
    records = _log(shop, *PAIR, "split P-1 into P-1a P-1b on 2026-05-01")
    with pytest.raises(BadQuestion, match="no piece called"):
        understood(records, "sold P-1 for 300 on 2026-06-01")
    with (shop / "events.csv").open("a") as log:
        log.write("2026-06-01,P-1,sold,300,\n")
    notes = " ".join(read_records(shop, as_of=TODAY).notes)
    assert '"P-1" is no piece kept' in notes


def test_names_and_shares_are_read_from_the_note():
    entry = read_entry('split "oak pair" into "left one" "right one" by 1 2: worn', today=TODAY)
    assert (entry.piece, entry.note) == ("oak pair", "into left one, right one by 1, 2; worn")
    assert parts_of("split", entry.note) == (["left one", "right one"], [1, 2])
    assert parts_of("split", "into A, B by 1") == ([], [])
    assert parts_of("joined", "of A, B; a set") == (["A", "B"], [1, 1])
    assert parts_of("joined", None) == ([], [])
