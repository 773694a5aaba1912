"""A whole life of a piece by lines alone; the grammar's refusals; one story; nothing dropped in silence."""

from datetime import date

import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion, CannotSave
from fleetlib.base.kit import demo_folder
from fleetlib.books.accounts import accounts
from fleetlib.cli import main
from fleetlib.desk.export import export
from fleetlib.desk.logging_lines import inbox, log_entry, understood
from fleetlib.desk.start import start_shop
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import append_event
from fleetlib.records.log.grammar import read_entry, read_line
from fleetlib.week.piece import story

TODAY = date(2026, 6, 30)  # a Tuesday
LIFE = [
    'bought A-1 for 80 furniture_type=dresser wood=oak width_in=50 on 2026-01-05',
    "worked A-1 6 h sand on 2026-01-09",
    "cost A-1 12.50 paint on 2026-01-09",
    "finished A-1 on 2026-01-20",
    "listed A-1 at 450 gut_price=430 on 2026-02-01",
    "marked down A-1 to 430 on 2026-02-20",
    "offer A-1 380 on 2026-03-01",
    "offer refused A-1 on 2026-03-01",
    "sold A-1 for 420 selling_fees=21 on 2026-03-20",
    "returned A-1 on 2026-04-10",
    "sold A-1 for 380 at the market on 2026-05-02",
]  # fmt: skip


@pytest.fixture
def shop(tmp_path, monkeypatch):
    place = tmp_path / "shop"
    start_shop(place)
    monkeypatch.chdir(place)
    (place / "settings.toml").write_text("as_of = 2026-06-30\ndelivery_cost = 0\n")
    return place


def _log(shop, *lines):
    for line in lines:
        assert main(["log", line, "--yes", "--in", str(shop)]) == 0


def _records(shop):
    return read_records(shop, as_of=TODAY)


def _quarter(records, first, last):
    return accounts(records, start=first, end=last)


@pytest.mark.parametrize("word", ["kept", "given away", "scrapped"])
def test_how_a_piece_left_unsold_is_kept_until_it_is_back_on_the_market(shop, word):
    _log(shop, *LIFE[:5], f"{word} A-1 on 2026-03-20")
    row = _records(shop).flips.iloc[0]
    assert (row["status"], row["outcome"]) == ("withdrawn", word)
    _log(shop, "relisted A-1 on 2026-03-28")
    row = _records(shop).flips.iloc[0]
    assert row["status"] == "listed" and row["outcome"] != word


def test_a_whole_life_by_lines_alone_and_the_books_of_both_quarters(shop):
    _log(shop, *LIFE)
    records = _records(shop)
    assert records.questions.empty
    row = records.flips.iloc[0]
    assert (row["status"], row["sale_price"], row["buy_price"], row["hours"]) == (
        "sold",
        380,
        80,
        6,
    )
    assert (row["furniture_type"], row["wood"], row["width_in"]) == ("dresser", "oak", 50)
    assert (row["asking_price"], row["gut_price"], row["days_listed"]) == (430, 430, 22)
    (past,) = records.past_sales.to_dict(
        "records"
    )  # bought, paid and brought back: it tells of the market
    assert (past["sale_price"], past["days_listed"], past["status"]) == (420, 47, "sold")
    assert (past["asking_price"], past["last_asking_price"]) == (450, 430)
    assert row["channel"] == "market"
    first = _quarter(records, date(2026, 1, 1), date(2026, 3, 31))
    second = _quarter(records, date(2026, 4, 1), TODAY)
    assert first.value("profit") == 420 - 21 - 92.5
    assert second.value("profit") == 380 - 420  # 92.50 came back and left again
    assert first.stock.reconciled
    assert second.stock.reconciled


def test_the_story_tells_every_day_once_and_in_order(shop, capsys):
    _log(shop, *LIFE)
    told = story(_records(shop), "a-1")
    assert told.table["what"].tolist() == [
        "bought", "hours", "cost", "finished", "asked", "asked", "offer", "offer refused", "sold", "returned", "sold",
    ]  # fmt: skip
    assert pd.to_datetime(told.table["on"], format="%d %b %Y").is_monotonic_increasing
    assert main(["piece", "A-1", "--in", str(shop)]) == 0
    assert "returned" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("line", "missing"),
    [
        ("sold A-1 at the market yesterday", "amount is missing"),
        ("sold for 420", "piece is missing"),
        ("sold", "Which piece"),
        ("flogged A-1 for 420", "begins no entry"),
        ("sold A-1 for 420 or 430", "two amounts"),
        ("sold A-1 for 420 yesterday on 2026-06-01", "two days"),
        ("sold A-1 for 420 on 2026-07-01", "still to come"),
        ("sold A-1 for 420 on 2026-02-30", "no day of the calendar"),
        ("sold A-1 for 420 happily", "has no place"),
        ("sold A-1 for 420 at the friday market", "a place or a day"),
        ("worked A-1 45 sand", "Write 45 min or 45 h"),
        ("worked A-1 45 min juggling", "no step of the work"),
        ("bought A-1 for 80", "what is it"),
        ("bought A-1 for 80 colour=red", "no cell to fill in"),
        ("sold A-1 for 420 wood=oak", "takes: selling_fees, delivery_charged, channel"),
        ("returned A-1 wood=oak", "takes: none"),
        ("", "line is empty"),
    ],
)
def test_a_line_with_something_missing_is_refused_with_what(line, missing):
    with pytest.raises(BadQuestion, match=missing):
        read_entry(line, today=TODAY)


def test_days_names_and_notes_are_read_as_written():
    entry = read_entry('sold "oak hutch" for $1,420.50 at the market yesterday: cash', today=TODAY)
    assert (entry.piece, entry.amount, entry.on) == ("oak hutch", 1420.5, date(2026, 6, 29))
    assert entry.note == "channel=market; cash"
    assert read_entry("finished A on Monday", today=TODAY).on == date(2026, 6, 29)
    assert read_entry("finished A last tuesday", today=TODAY).on == date(2026, 6, 23)
    assert read_entry("worked A 45 min sand 3 days ago", today=TODAY).on == date(2026, 6, 27)
    assert read_entry("worked A 1.5 h sand", today=TODAY).amount == 1.5
    assert read_entry("backed out A keeping 20", today=TODAY).amount == 20


def test_nothing_is_written_unasked_or_to_the_demo(shop, capsys, monkeypatch):
    _log(shop, LIFE[0])
    before = (shop / "events.csv").read_bytes()
    monkeypatch.setattr("builtins.input", lambda _: "n")
    assert main(["log", "sold A-1 for 420", "--in", str(shop)]) == 0
    assert main(["log", "sold A-9 for 420", "--yes", "--in", str(shop)]) == 2
    assert "no piece called" in capsys.readouterr().err
    assert (shop / "events.csv").read_bytes() == before
    demo = read_records(demo_folder())
    name = demo.flips["piece"].iloc[0]
    with pytest.raises(CannotSave, match="demo"):
        log_entry(demo, read_entry(f"finished {name}", today=demo.as_of))


def test_an_unknown_event_word_is_kept_said_and_changes_nothing(shop):
    _log(shop, *LIFE[:5])
    before = _records(shop).flips
    with (shop / "events.csv").open("a") as stream:
        stream.write("2026-03-01,A-1,varnished_twice,,\n")
    after = _records(shop)
    assert after.flips.equals(before)
    assert after.other_set_aside["value"].tolist() == ["varnished_twice"]
    assert "changes nothing" in after.other_set_aside["remedy"].iloc[0]


def test_a_relisting_after_a_sale_is_asked_about_and_the_sale_counts(shop):
    _log(shop, *LIFE[:9])
    append_event(shop, on=date(2026, 4, 1), piece="A-1", event="relisted")
    records = _records(shop)
    assert records.flips["status"].tolist() == ["sold"]
    assert "after it sold" in records.questions["question"].iloc[0]


def test_what_both_files_say_counts_once_and_a_difference_is_asked(tmp_path):
    (tmp_path / "flips.csv").write_text(
        "piece,furniture_type,bought_on,buy_price,sale_price\nA-1,desk,2026-01-05,80,\n"
    )
    append_event(
        tmp_path, on=date(2026, 1, 5), piece="a-1", event="bought", amount=90, note="wood=oak"
    )
    records = _records(tmp_path)
    assert len(records.flips) == 1
    assert records.flips["wood"].tolist() == ["oak"]
    assert records.flips["buy_price"].tolist() == [80]
    assert records.questions["column"].tolist() == ["buy_price"]
    assert "80" in story(records, "A-1").contradictions[0]


def test_what_a_piece_is_may_be_told_when_its_work_is_done_and_money_in_cells_is_read_as_everywhere(
    shop,
):
    _log(
        shop,
        "bought A-1 for 80 furniture_type=dresser on 2026-01-05",
        "finished A-1 finish=oil grade=4 on 2026-02-01",
        "sold A-1 for 420 selling_fees=$1,021.50 on 2026-03-20",
    )
    row = _records(shop).flips.iloc[0]
    assert (row["finish"], row["grade"], row["selling_fees"]) == ("oil", 4, 1021.5)
    _log(shop, "photographed A-1 finish=wax on 2026-03-21")
    asked = _records(shop).questions
    assert asked["question"].tolist() == ["events.csv says oil and then wax; the first was kept."]


def test_a_blank_of_flips_filled_by_one_entry_is_not_called_typed_when_the_next_differs(shop):
    (shop / "flips.csv").write_text("piece,type,finish,asking\nA-1,desk,,300\n", encoding="utf-8")
    _log(shop, "finished A-1 finish=oil on 2026-02-01", "photographed A-1 finish=wax on 2026-03-21")
    asked = _records(shop).questions["question"].tolist()
    assert asked == ["events.csv says oil and then wax; the first was kept."]


def test_a_cell_that_cannot_be_read_is_refused_in_a_line_and_asked_about_in_the_file(shop, capsys):
    line = "bought A-1 for 80 furniture_type=dresser width_in=fifty"
    assert main(["log", line, "--yes", "--in", str(shop)]) == 2
    assert 'width_in is "fifty", which is not a size' in capsys.readouterr().err
    append_event(
        shop,
        on=date(2026, 1, 5),
        piece="A-1",
        event="bought",
        amount=80,
        note="furniture_type=desk",
    )
    for event, note, amount in (("sold", "selling_fees=some", 300), ("finished", "grade=A", None)):
        append_event(shop, on=date(2026, 2, 5), piece="A-1", event=event, amount=amount, note=note)
    asked = _records(shop).questions
    assert asked[["column", "value"]].values.tolist() == [["selling_fees", "some"], ["grade", "A"]]
    lines = (shop / "events.csv").read_text(encoding="utf-8").splitlines()
    sold = next(n for n, line in enumerate(lines, 1) if ",sold," in line.replace('"', ""))
    assert f"line {sold} " in asked["question"].iloc[0]


def test_a_sale_in_events_prices_a_row_marked_sold_without_a_price_and_nothing_more_is_asked(
    tmp_path,
):
    (tmp_path / "flips.csv").write_text(
        "piece,furniture_type,sold_on,sale_price\nA-1,desk,2026-03-01,\nA-2,desk,2026-03-01,\n"
    )
    append_event(tmp_path, on=date(2026, 3, 1), piece="A-1", event="sold", amount=210)
    records = _records(tmp_path)
    assert records.questions["line"].tolist() == [3]
    assert [n for n in records.notes if n.startswith("Sold at a price that is missing")] == [
        "Sold at a price that is missing or could not be read: these count in days to sell, hours and the number of "
        "sales, not in prices or money (line 3)."
    ]
    append_event(tmp_path, on=date(2026, 3, 1), piece="A-2", event="sold", amount=90)
    assert _records(tmp_path).questions.empty
    assert not [n for n in _records(tmp_path).notes if n.startswith("Sold at a price")]


@pytest.mark.parametrize(("event", "amount"), [("relisted", None), ("listed", 300)])
def test_a_relisting_after_a_sale_typed_into_the_record_is_asked_about(tmp_path, event, amount):
    (tmp_path / "flips.csv").write_text(
        "piece,furniture_type,listed_on,asking_price,sold_on,sale_price\nA-1,desk,2026-02-01,220,2026-03-01,200\n"
    )
    before = _records(tmp_path).flips
    append_event(tmp_path, on=date(2026, 4, 5), piece="A-1", event=event, amount=amount)
    records = _records(tmp_path)
    assert "after it sold on 2026-03-01; the sale counts" in records.questions["question"].iloc[0]
    assert records.flips.equals(before)


@pytest.mark.parametrize(("typed", "asked"), [(6, 1), (3, 0)])
def test_a_total_that_may_hold_the_logged_hours_is_added_up_and_asked_about(tmp_path, typed, asked):
    (tmp_path / "flips.csv").write_text(
        f"piece,furniture_type,hours,sale_price\nA-1,desk,{typed},\n"
    )
    append_event(tmp_path, on=date(2026, 1, 9), piece="A-1", event="hours", amount=4, note="sand")
    records = _records(tmp_path)
    assert records.flips["hours"].tolist() == [typed + 4]
    assert len(records.questions) == asked


def test_a_return_of_a_sale_typed_into_the_record_reopens_it(tmp_path):
    (tmp_path / "flips.csv").write_text(
        "piece,furniture_type,bought_on,buy_price,sold_on,sale_price\nA-1,desk,2026-01-05,80,2026-03-01,200\n"
    )
    append_event(tmp_path, on=date(2026, 4, 5), piece="A-1", event="returned")
    records = _records(tmp_path)
    assert records.flips["sale_price"].isna().all()
    assert records.ended["given_back"].tolist() == [200]
    second = _quarter(records, date(2026, 4, 1), TODAY)
    assert second.value("profit") == -200 + 80


def test_the_inbox_is_offered_once_and_never_rewritten(shop):
    _log(shop, *LIFE[:5])
    text = "offer A-1 380\noffer A-1 380\nsold the blue one\n"
    (shop / "inbox.txt").write_text(text)
    lines = inbox(_records(shop))
    assert [x.entry is not None for x in lines] == [True, True, False]
    assert (
        "no piece called" in lines[2].why or "no place" in lines[2].why or "amount" in lines[2].why
    )
    log_entry(_records(shop), lines[0].entry)
    assert [x.line for x in inbox(_records(shop))] == [2, 3]
    assert (shop / "inbox.txt").read_text() == text


def test_lines_of_the_inbox_about_a_piece_bought_in_it_are_logged_one_after_the_other(shop, capsys):
    (shop / "inbox.txt").write_text(
        "bought A-1 for 80 furniture_type=dresser on 2026-01-05\nworked A-1 45 min sand on 2026-01-06\n"
        "worked A-2 45 min sand\nsold A-1 for 300 on 2026-02-01\n"
    )
    assert main(["log", "--yes", "--in", str(shop)]) == 0
    said = capsys.readouterr().out
    assert "inbox.txt line 3" in said and said.count("Logged in events.csv") == 3
    assert (
        "A-1: hours, 45 minutes, on Tuesday 2026-01-06 (sand)" in said
    )  # without the mark in the file
    assert "inbox" not in str(story(_records(shop), "A-1"))
    assert _records(shop).flips["sale_price"].tolist() == [300]


def test_a_line_that_is_a_day_says_when_the_lines_below_it_were_typed(shop):
    _log(shop, *LIFE[:5])
    (shop / "inbox.txt").write_text(
        "offer A-1 380\n2026-03-04\noffer A-1 390 yesterday\noffer A-1 395 tuesday\n"
    )
    assert [x.entry and x.entry.on for x in inbox(_records(shop))] == [
        TODAY,
        date(2026, 3, 3),
        date(2026, 3, 3),  # 2026-03-04 was a Wednesday
    ]


@pytest.mark.parametrize("line", ["returned A-1 on 2026-03-01", "refund A-1 30 on 2026-03-01"])
def test_what_was_not_sold_by_then_cannot_come_back(shop, line):
    _log(shop, *LIFE[:9])
    with pytest.raises(BadQuestion, match="no sale on record up to 2026-03-01"):
        understood(_records(shop), line)
    assert understood(_records(shop), line.replace("03-01", "03-21")).event in line


@pytest.mark.parametrize("whole", [True, False])
def test_an_export_opened_as_a_shop_is_the_same_shop(shop, tmp_path, whole):
    if whole:
        _log(shop, *LIFE)
    records = _records(shop) if whole else read_records(demo_folder())
    written = export(records, tmp_path / "out")
    again = read_records(tmp_path / "out" / "shop", as_of=records.as_of)
    columns = [c for c in records.flips.columns if c != "line"]
    assert again.flips[columns].equals(records.flips[columns])
    assert again.ended.equals(records.ended)
    assert {p.name for p in written} >= {"shop.xlsx", "flips.csv", "flips.schema.json"}
    book = pd.read_excel(tmp_path / "out" / "shop.xlsx", sheet_name=None)
    assert list(book)[:6] == ["flips", "events", "supplies", "tools", "answers", "advice"]
    assert len(book["supplies"]) + len(book["tools"]) == len(records.supplies)
    assert len(book.get("set aside", [])) == len(records.set_aside) + len(records.other_set_aside)
    assert len(book["flips"]) == len(records.flips) and len(book["events"]) == len(records.logged)
    with pytest.raises(CannotSave, match="already"):
        export(records, tmp_path / "out")


def test_an_export_keeps_what_was_answered_and_passes_over_a_row_that_is_no_answer(tmp_path):
    (tmp_path / "flips.csv").write_text(
        "Piece,Type,Sold for,Sold on\nA-1,desk,120/140,2026-03-01\nA-2,desk,300,2026-03-02\n"
    )
    (tmp_path / "answers.csv").write_text(
        "on,about,text,meaning\n2026-03-04,cell,A-1: sale price: 120/140,130\na,b,c,d,e,f,g\n"
    )
    records = _records(tmp_path)
    export(records, tmp_path / "out")
    again = _records(tmp_path / "out" / "shop")
    assert again.flips["sale_price"].tolist() == records.flips["sale_price"].tolist() == [130, 300]
    sheet = pd.read_excel(tmp_path / "out" / "shop.xlsx", sheet_name="answers")
    assert sheet["text"].tolist() == ["A-1: sale price: 120/140"]


def test_supplies_and_tools_go_to_supplies_csv_and_back_as_rows(shop):
    _log(
        shop,
        "supplies 25.40 sandpaper on 2026-06-02",
        "supplies $120 rent of the bay shared by pieces on 2026-06-03",
        'tool 180 "orbital sander" on 2026-06-04',
    )
    rows = _records(shop).supplies
    assert rows[["item", "cost", "shared_by"]].values.tolist() == [
        ["sandpaper", 25.4, "hours"],
        ["rent of the bay", 120, "pieces"],
        ["orbital sander", 180, "none"],
    ]
    books = _quarter(_records(shop), date(2026, 4, 1), TODAY)
    assert books.value("supplies for all pieces") == 325.4


@pytest.mark.parametrize(
    ("line", "missing"),
    [
        ("supplies sandpaper", "one amount"),
        ("supplies 4 5 sandpaper", "one amount"),
        ("supplies 25.40", "for what"),
        ("supplies 25.40 rags shared by weight", "no way to share"),
        ("tool 180 sander on 2026-07-09", "still to come"),
    ],
)
def test_a_line_of_supplies_with_something_missing_is_refused(line, missing):
    with pytest.raises(BadQuestion, match=missing):
        read_line(line, today=TODAY)


def test_a_line_of_supplies_in_the_inbox_is_offered_once(shop):
    (shop / "inbox.txt").write_text("supplies 9 rags yesterday\n")
    (line,) = inbox(_records(shop))
    log_entry(_records(shop), line.entry)
    assert inbox(_records(shop)) == []
    assert _records(shop).supplies["cost"].tolist() == [9]


def test_two_writings_of_one_fact_count_once_and_are_asked_about_where_they_differ(shop):
    bought = "bought A-1 for 80 furniture_type=dresser on 2026-01-05"
    log_entry(_records(shop), read_entry(bought, today=TODAY))
    with pytest.raises(BadQuestion, match="a piece called A-1 already"):
        log_entry(_records(shop), read_entry(bought, today=TODAY))
    # Typed into events.csv by hand, it stands there twice.
    again = {"piece": "A-1", "event": "bought", "note": "furniture_type=dresser"}
    append_event(shop, on=date(2026, 1, 5), amount=80, **again)
    sold = read_entry("sold A-1 for 420 at the market on 2026-03-20", today=TODAY)
    log_entry(_records(shop), sold)
    log_entry(_records(shop), sold)
    records = _records(shop)
    assert records.questions.empty
    assert records.flips[["buy_price", "sale_price"]].values.tolist() == [[80, 420]]
    assert _quarter(records, date(2026, 1, 1), date(2026, 3, 31)).value("takings") == 420
    assert any("logged twice alike" in n for n in records.notes)
    append_event(shop, on=date(2026, 1, 6), amount=90, **again)
    question = _records(shop).questions["question"].iloc[-1]
    assert "for 80 and again on 2026-01-06 for 90; the first counts" in question
    (shop / "flips.csv").write_text(
        "piece,furniture_type,channel,sold_on,sale_price,selling_fees\nA-1,dresser,Market,2026-03-20,420,20\n"
    )
    log_entry(
        _records(shop),
        read_entry("sold A-1 for 420 selling_fees=21 at market on 2026-03-20", today=TODAY),
    )
    asked = _records(shop).questions
    assert "channel" not in set(asked["column"])
    fees = asked.loc[asked["column"] == "selling_fees", "question"].iloc[0]
    assert "flips.csv says 20, events.csv says 21" in fees
