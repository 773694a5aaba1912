"""A shop folder read and laid together."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from fleetlib.base.errors import BadRecords, BadSettings, MissingRecords
from fleetlib.base.settings import Settings
from fleetlib.records.folder import Records, read_records
from fleetlib.records.log.append import SavedAdvice, append_advice, append_event
from fleetlib.records.schema.columns import DERIVED_NAMES, NAMES

AS_OF = date(2026, 9, 30)
HEAD = "piece,type,bought on,paid,supplies,hours,gut price,listed on,asking,last asking,sold on,price,withdrawn on\n"


LISTED = "A,desk,,,,,,2026-02-01,400,"
SOLD = f"{LISTED},2026-03-01,360,"


def shop(folder: Path, *rows: str, **files: str) -> Records:
    (folder / "flips.csv").write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    for name, text in files.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return read_records(folder, as_of=AS_OF)


def events(*rows: str) -> str:
    return "on,piece,event,amount,note\n" + "\n".join(rows) + "\n"


def test_every_promised_column_is_there_with_its_type(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("type,price,mine\ndesk,300,x\n")
    flips = read_records(tmp_path, as_of=AS_OF).flips
    assert list(flips.columns) == [*NAMES, "line", *DERIVED_NAMES, "mine"]
    assert isinstance(flips.index, pd.RangeIndex)
    texts, numbers = ("wood", "status", "mine", "notes"), ("hours", "profit", "pieces_in_lot")
    assert {str(flips[c].dtype) for c in texts} == {"str"}
    assert {str(flips[c].dtype) for c in numbers} == {"float64"}
    assert (str(flips["sold_on"].dtype), str(flips["line"].dtype)) == ("datetime64[ns]", "int64")


def test_a_blank_record_has_the_same_columns_and_types(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("type,price\ndesk,300\n")
    full = read_records(tmp_path, as_of=AS_OF).flips.dtypes
    (tmp_path / "flips.csv").write_text("type,price\n")
    assert read_records(tmp_path, as_of=AS_OF).flips.dtypes.equals(full)


def test_derived_columns_by_hand(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(
        "type,width,depth,height,paid,materials,other costs,hours,listed on,asking,last asking,sold on,price,fees,"
        "delivery,withdrawn on\n"
        "desk,48,24,30,80,35,10,10,2026-01-01,500,450,2026-01-31,405,40,30,\n"
        "bench,,,,20,,,,2026-09-01,90,,,,,,\n"
        "chair,,,,5,,,,,,,,,,,\n"
        "bed,,,,0,,,,2026-02-01,200,,,,,,2026-03-03\n"
        "bar,,,,,,,4,,,,,100,,,\n"
    )
    flips = read_records(tmp_path, as_of=AS_OF, settings=Settings(delivery_cost=15.0)).flips
    assert flips["status"].tolist() == ["sold", "listed", "in work", "withdrawn", "sold"]
    assert flips["days_listed"].tolist()[:2] == [30, 29]
    assert flips["days_listed"][3] == 30
    assert flips["days_listed"].isna().tolist() == [False, False, True, False, True]
    assert flips["size_cuft"][0] == pytest.approx(48 * 24 * 30 / 1728)
    assert flips["net_price"][0] == 405 + 30 - 40 - 15
    assert flips["profit"][0] == 380 - 80 - 35 - 10
    assert flips["profit_per_hour"][0] == 25.5
    assert flips["sale_to_ask"][0] == 405 / 450
    assert flips["profit"][[1, 2, 3, 4]].isna().all()  # unsold, or without a buy price


def test_dated_prices_give_the_first_and_the_last_asking_price(tmp_path: Path) -> None:
    found = shop(
        tmp_path,
        "A,desk,,,,,,,,,,,",
        "B,desk,,,,,,2026-02-01,400,380,,,",
        "C,desk,,,,,,2026-02-01,400,380,2026-05-01,360,",
        events=events(
            "2026-03-01,A,asking_price,450,", "2026-04-01,A,asking_price,420,", "2026-03-15,A,offer,300,",
            "2026-03-01,B,asking_price,350,", "2026-03-01,C,asking_price,350,",
        ),
    )  # fmt: skip
    a, b, c = (found.flips.iloc[i] for i in range(3))
    assert (a["asking_price"], a["last_asking_price"], str(a["listed_on"].date())) == (
        450,
        420,
        "2026-03-01",
    )
    assert (b["asking_price"], b["last_asking_price"]) == (400, 350)
    assert (c["asking_price"], c["last_asking_price"]) == (400, 380)
    assert found.events["event"].tolist().count("offer") == 1
    assert len(found.events) == 5
    asked = found.questions[found.questions["piece"] == "C"]["question"].tolist()
    assert asked[0].startswith(
        "flips.csv says 380, the last price in events.csv is 350; flips.csv was kept."
    )


def test_logged_hours_and_costs_come_on_top_but_count_once(tmp_path: Path) -> None:
    found = shop(
        tmp_path,
        "A,desk,,10,,,,,,,,,",
        "B,desk,,10,35,5,,,,,,,",
        "C,desk,,10,35,5,,,,,,,",
        "D,desk,,10,35,5,,,,,,300,",
        events=events(
            "2026-03-01,A,hours,1.5,sand", "2026-03-02,A,hours,2,oil", "2026-03-02,A,cost,12,milk paint",
            "2026-03-02,A,cost,20,hauling",
            "2026-03-01,B,hours,2,sand", "2026-03-01,B,cost,5,finish",
            "2026-03-01,C,hours,5,sand", "2026-03-01,C,cost,35,materials",
            "2026-03-01,D,hours,2,sand",
        ),
    )  # fmt: skip
    flips = found.flips.set_index("piece")
    columns = ["hours", "hours_sand", "hours_finish", "materials_cost", "other_costs"]
    assert flips.loc["A", columns].tolist() == [3.5, 1.5, 2, 12, 20]
    assert flips.loc["B", ["hours", "materials_cost"]].tolist() == [7, 40]
    assert flips.loc["C", ["hours", "materials_cost"]].tolist() == [5, 35]
    assert flips.loc["D", "hours"] == 5
    asked = found.questions.set_index(["piece", "column"])["question"]
    assert asked["D", "hours"].startswith(
        "flips.csv says 5, 2 is logged in events.csv; flips.csv was kept."
    )
    for column, said in (
        ("hours", "5 and events.csv 2"),
        ("materials_cost", "35 and events.csv 5"),
    ):
        assert asked["B", column].startswith(f"flips.csv says {said} more; they were added up.")
    assert len(asked) == 3


def test_sold_and_withdrawn_by_event_and_back(tmp_path: Path) -> None:
    found = shop(
        tmp_path,
        "A,desk,,10,,,,2026-02-01,400,,,,",
        "B,desk,,,,,,2026-02-01,400,,,,",
        "C,desk,,,,,,2026-02-01,400,,,,",
        "D,desk,,,,,,2026-02-01,400,,,,",
        events=events(
            "2026-03-01,A,sold,360,", "2026-03-01,B,withdrawn,,", "2026-03-01,C,withdrawn,,", "2026-03-08,C,relisted,,",
            "2026-01-15,D,sold,360,",
        ),
    )  # fmt: skip
    assert found.flips["status"].tolist() == ["sold", "withdrawn", "listed", "listed"]
    assert found.flips["days_listed"].tolist()[:2] == [28, 28]
    assert found.flips["profit"][0] == 350
    assert (
        "sold on 2026-01-15, but it was bought or listed on 2026-02-01"
        in found.questions["question"][0]
    )


def test_a_piece_withdrawn_in_flips_comes_back_by_a_later_relisting(tmp_path: Path) -> None:
    rows = [f"{n},desk,,,,,,2026-02-01,400,,,,2026-03-01" for n in "ABC"]
    log = events(
        "2026-04-01,A,relisted,,",
        "2026-04-01,B,relisted,,",
        "2026-05-01,B,sold,350,",
        "2026-02-20,C,relisted,,",
    )
    found = shop(tmp_path, *rows, events=log)
    assert found.flips["status"].tolist() == ["listed", "sold", "withdrawn"]
    change = found.changes[found.changes["column"] == "withdrawn_on"]
    assert change["why"].tolist() == ["relisted on 2026-04-01, in events.csv"] * 2
    assert change[["line", "was", "now"]].values.tolist() == [
        [2, "2026-03-01", ""],
        [3, "2026-03-01", ""],
    ]
    assert not len(found.questions)


@pytest.mark.parametrize(
    ("row", "event", "column", "values"),
    [
        (SOLD, "2026-03-01,A,sold,350,", "sale_price", ("360", "350")),
        (SOLD, "2026-03-05,A,sold,360,", "sold_on", ("2026-03-01", "2026-03-05")),
        (SOLD, "2026-03-05,A,withdrawn,,", "sale_price", ("360", "2026-03-05")),
        (f"{LISTED},,,2026-03-01", "2026-03-05,A,sold,360,", "withdrawn_on", ("2026-03-01", "360")),
        (f"{LISTED},,,", "2026-02-01,A,asking_price,450,", "asking_price", ("400", "450")),
        (f"{LISTED},,,", "2026-01-05,A,asking_price,400,", "listed_on", ("2026-02-01", "2026-01-05")),
    ],
)  # fmt: skip
def test_a_contradiction_is_listed_with_both_values_and_flips_is_kept(
    tmp_path: Path, row: str, event: str, column: str, values: tuple[str, str]
) -> None:
    found = shop(tmp_path, row, events=events(event))
    asked = found.questions[found.questions["column"] == column]
    assert len(asked) == 1
    assert all(v in asked["question"].iloc[0] for v in values)
    assert asked["value"].iloc[0] == values[0]
    kept = found.flips[column][0]
    assert (str(kept.date()) if isinstance(kept, pd.Timestamp) else f"{kept:g}") == values[0]
    assert any(values[0] in n and values[1] in n for n in found.notes)


def test_events_of_a_piece_that_is_not_there_or_is_there_twice_are_said(tmp_path: Path) -> None:
    found = shop(
        tmp_path, "A,desk,,,,,,,,,,,", "A,bench,,,,,,,,,,,",
        events=events("2026-03-01,Z,finished,,", "2026-03-01,a,sold,100,"),
    )  # fmt: skip
    said = " ".join(found.notes)
    assert '"Z" is no piece kept; its events count for none (line 2)' in said
    assert '"a" is the name of more than one piece' in said
    assert found.flips["sale_price"].isna().all()


def test_the_first_asking_price_stands_in_only_where_no_advice_came_first(tmp_path: Path) -> None:
    listed = {
        "A": ",2026-03-01",
        "B": ",2026-03-01",
        "C": ",2026-03-01",
        "D": "350,2026-03-01",
        "E": ",",
    }
    rows = [f"{name},desk,,,,,{cells},400,,,," for name, cells in listed.items()]
    (tmp_path / "flips.csv").write_text(HEAD + "\n".join(rows) + "\n")
    saved = {
        "B": date(2026, 2, 20),
        "C": date(2026, 3, 5),
        "D": date(2026, 2, 1),
        "e": date(2026, 3, 5),
    }
    for name, day in saved.items():
        append_advice(tmp_path, SavedAdvice(on=day, piece=name))
    found = read_records(tmp_path, as_of=AS_OF)
    gut = found.flips.set_index("piece")["gut_price"]
    assert gut[["A", "C", "D"]].tolist() == [400, 400, 350]
    assert gut[["B", "E"]].isna().all()
    assert any(
        "missing for 2 piece(s) whose asking price came after saved advice (B, E)" in n
        for n in found.notes
    )


def test_supplies_are_read_and_the_unreadable_ones_listed(tmp_path: Path) -> None:
    rows = (
        "bought on,item,cost,shared by",
        "2026-01-05,sandpaper,$18.50,hours",
        "2026-01-06,bay rent,60,pieces",
        ",tape,5,",
        "2026-01-06,glue,5-6,hours",
        "2026-01-06,rags,5,moons",
    )
    found = shop(tmp_path, "A,desk,,,,,,,,,,,", supplies="\n".join(rows))
    assert found.supplies["item"].tolist() == ["sandpaper", "bay rent", "tape"]
    assert found.supplies["cost"].tolist() == [18.5, 60, 5]
    assert found.supplies["shared_by"].tolist() == ["hours", "pieces", "hours"]
    aside = found.other_set_aside[["file", "line"]].values.tolist()
    assert aside == [["supplies.csv", 5], ["supplies.csv", 6]]


def test_two_records_that_both_hold_pieces_are_refused_by_name(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("type,price\ndesk,300\n")
    (tmp_path / "flips.tsv").write_text("type\tprice\n")
    assert read_records(tmp_path, as_of=AS_OF).name == "flips.csv"
    (tmp_path / "flips.tsv").write_text("type\tprice\nbench\t90\n")
    with pytest.raises(BadRecords, match=r"flips\.csv and flips\.tsv both hold pieces"):
        read_records(tmp_path, as_of=AS_OF)


def test_a_folder_without_a_record_says_what_it_holds(tmp_path: Path) -> None:
    with pytest.raises(MissingRecords, match="no folder"):
        read_records(tmp_path / "no")
    (tmp_path / "my sales.xlsx").write_bytes(b"x")
    with pytest.raises(
        MissingRecords, match=r"If my sales\.xlsx is your record, rename it to flips\.xlsx"
    ):
        read_records(tmp_path)


def test_the_settings_of_the_folder_count(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text(
        'date_order = "day first"\nas_of = 2026-05-01\n[words.furniture_type]\nbuffet = "sideboard"\n'
    )
    found = shop(tmp_path, "A,buffet,,,,,,03/04/26,400,,,,")
    assert found.flips["furniture_type"][0] == "sideboard"
    assert str(found.flips["listed_on"][0].date()) == "2026-04-03"
    assert read_records(tmp_path).as_of == date(2026, 5, 1)
    (tmp_path / "settings.toml").write_text("curency = 1\n")
    with pytest.raises(BadSettings):
        read_records(tmp_path)


def test_reading_a_folder_writes_nothing_into_it(tmp_path: Path) -> None:
    shop(tmp_path, "A,desk,,,,,,,,,,,")
    append_event(tmp_path, on=AS_OF, piece="A", event="finished")
    before = {p.name: (p.stat().st_mtime_ns, p.read_bytes()) for p in tmp_path.iterdir()}
    read_records(tmp_path, as_of=AS_OF)
    assert {p.name: (p.stat().st_mtime_ns, p.read_bytes()) for p in tmp_path.iterdir()} == before
