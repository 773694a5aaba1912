"""Five invented shops as a refinisher might keep them: how many rounds of questions until they are read as meant.

Each shop is a file, what its owner would answer (by what is asked about), and what the record must then say. A round
is one check: every question shown is answered at once. They were written by one who knew the reader; the counts
are therefore a floor, not a measurement on strangers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from fleetlib.records.asked.question import Chosen
from fleetlib.records.folder import Records, read_records
from fleetlib.records.log.answers_file import keep_answers

AS_OF = date(2026, 9, 30)
MOST_ROUNDS = 3


@dataclass(frozen=True)
class Kept:
    """One shop: its text (or sheets), what its owner knows, and the columns that must come out so."""

    text: str
    knows: Mapping[str, str]
    means: Mapping[str, list[object]]
    currency: str = "USD"
    sheets: bool = False


SHOPS = {
    "own headings": Kept(
        "What I had,Gave,Fixings,Put up,Marked,Left,Came home with,Remarks\n"
        "6 drawer dresser,40,22,3/4/26,300,3/29/26,280,\n"
        "green hutch,75,41,3/18/26,480,5/2/26,425,\n"
        "oak desk,20,9,4/2/26,190,,,scratch on top\n"
        "vanity w/ mirror,free,30,4/20/26,260,5/14/26,250,\n"
        "pair of nightstands,35,18,5/5/26,160,5/9/26,160,\n"
        "TOTAL,170,120,,,,1115,\n",
        {"Gave": "buy price", "Fixings": "materials cost", "Put up": "listed on", "Marked": "asking price",
         "Left": "sold on", "Came home with": "sale price", "What I had": "furniture type"},
        {"furniture_type": ["dresser", "hutch", "desk", "vanity", "nightstand"],
         "buy_price": [40, 75, 20, 0, 35], "sale_price": [280, 425, None, 250, 160],
         "asking_price": [300, 480, 190, 260, 160], "materials_cost": [22, 41, 9, 30, 18],
         "status": ["sold", "sold", "listed", "sold", "sold"]},
    ),
    "pounds and centimetres": Kept(
        "Piece,Timber,Cost,Listed,Asked,Sold,Got,Size (cm)\n"
        "wardrobe,pine,£30,03/04/26,£180,09/05/26,£165,90 x 50 x 180\n"
        "sideboard,oak,£45,05/06/26,£320,10/07/26,£300,150 x 45 x 85\n"
        "chest of drawers,mahog,£25,07/08/26,£190,,,80 x 45 x 110\n",
        {"Piece": "furniture type", "date order": "day first"},
        {"furniture_type": ["armoire", "sideboard", "chest of drawers"], "buy_price": [30, 45, 25],
         "sale_price": [165, 300, None], "sold_on": ["2026-05-09", "2026-07-10", None],
         "listed_on": ["2026-04-03", "2026-06-05", "2026-08-07"], "wood": ["pine", "oak", "mahogany"]},
        currency="GBP",
    ),
    "a sheet a year": Kept(
        "2024|Item,Paid,Date listed,Asking,Date sold,Sold for\n"
        "dresser,50,2024-03-01,300,2024-04-02,290\nbookcase,10,2024-05-01,120,2024-05-20,110\n"
        "2025|Item,Paid,Date listed,Asking,Date sold,Sold for\n"
        "buffet,80,2025-02-01,420,2025-04-11,400\ntrunk,15,2025-06-01,150,,\n"
        "to do|call about the armoire\n",
        {"buffet": "sideboard"},
        {"furniture_type": ["dresser", "bookcase", "sideboard", "trunk"], "sale_price": [290, 110, 400, None],
         "buy_price": [50, 10, 80, 15]},
        sheets=True,
    ),
    "from a phone": Kept(
        "what,got\nlow dresser,250?\nside table,$60 cash\noak desk,~190\ncoffee table,120 obo\nhutch,1.2k\n"
        "nightstands,90 + 20 delivery\nchair,3 x 25\nbench,80/90\nstool,traded\n",
        {"80/90": "85"},
        {"furniture_type": ["dresser", "side table", "desk", "coffee table", "hutch", "nightstand", "chair", "bench",
                            "stool"],
         "sale_price": [250, 60, 190, 120, 1200, 90, 75, 85, None], "status": ["sold"] * 9},
    ),
    "one price, two dates": Kept(
        "Name,Furniture,Date,Date,Price,Time spent\n"
        "Rosie,dresser,2026-02-03,2026-03-01,310,6h\nLoft,desk,2026-02-20,2026-04-02,180,240 min\n"
        "Barn,hutch,2026-03-15,,450,9h 30m\nSalt,bench,2026-04-01,2026-04-19,95,2.5 h\n",
        {"Date": "listed on", "Date 2": "sold on", "Price without a day of sale": "asking price", "Name": "piece"},
        {"furniture_type": ["dresser", "desk", "hutch", "bench"], "status": ["sold", "sold", "listed", "sold"],
         "sale_price": [310, 180, None, 95], "asking_price": [None, None, 450, None],
         "sold_on": ["2026-03-01", "2026-04-02", None, "2026-04-19"], "hours": [6, 4, 9.5, 2.5]},
    ),
}  # fmt: skip


def lay(kept: Kept, folder: Path) -> Records:
    if not kept.sheets:
        (folder / "flips.csv").write_text(kept.text, encoding="utf-8")
        return read_records(folder, as_of=AS_OF)
    made = openpyxl.Workbook()
    made.remove(made.active)
    for line in kept.text.splitlines():
        title, bar, rest = line.rpartition("|")
        sheet = made.create_sheet(title) if bar else made.worksheets[-1]
        sheet.append([c or None for c in rest.split(",")])
    made.save(folder / "flips.xlsx")
    return read_records(folder, as_of=AS_OF)


def owners_answers(records: Records, knows: Mapping[str, str]) -> list[Chosen]:
    """What the owner says to each question: what they know of it, else that it is as the kit first says."""
    made = []
    for q in records.to_answer:
        key = q.text.rsplit(": ", 1)[-1] if q.about == "cell" else q.text or q.about
        if q.options or q.free:
            first = q.options[0].meaning if q.options else ""
            made.append(Chosen(q, "", knows.get(key, first)))
    return made


def rounds_and_questions(kept: Kept, folder: Path) -> tuple[int, int, Records]:
    """How often the owner was asked, how many questions in all, and the record at the end."""
    records, rounds, questions = lay(kept, folder), 0, 0
    while (answers := owners_answers(records, kept.knows)) and rounds < 6:
        rounds, questions = rounds + 1, questions + len(answers)
        keep_answers(folder, answers, on=AS_OF)
        records = read_records(folder, as_of=AS_OF)
    return rounds, questions, records


def cell(value: object) -> object:
    if pd.isna(value):
        return None
    return str(value.date()) if isinstance(value, pd.Timestamp) else value


@pytest.mark.parametrize("name", SHOPS)
def test_a_shop_is_read_as_meant_within_three_rounds(name: str, tmp_path: Path) -> None:
    kept = SHOPS[name]
    rounds, questions, records = rounds_and_questions(kept, tmp_path)
    assert records.settings.currency == kept.currency
    for column, wanted in kept.means.items():
        assert [cell(v) for v in records.flips[column]] == wanted, column
    assert rounds <= MOST_ROUNDS and questions <= 10
    assert not records.to_answer
