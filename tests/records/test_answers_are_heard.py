"""Every answer that is offered is heard: once written it is read, and its question is asked no more."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetlib.records.asked.question import Chosen
from fleetlib.records.folder import read_records
from fleetlib.records.log.answers_file import keep_answers
from tests.records.answered import AS_OF, read

MANY = (
    "what,box,wood,did,$in,Got it,up,asked,gone,$out,where is it,note\n"
    "drsr,34x42x18,mah,base sage green; top waxed,25 each,2025-01-04,2025-02-01,150 or 160,2025-03-08,130,sold,\n"
    "cof tbl,46x17x24,mpl,strip/stain,20,2025-01-05,2025-02-02,120,2025-03-09,lots,sold,down to 100\n"
    "bkcs,30x60x11,cdr,mystery goo,15,2025-01-06,2025-02-03,85,2025-03-10,80,sold,gave it to my sister\n"
    "chest,40x19x18,wal,brown,35,2025-01-07,2025-02-04,110,2025-03-11,110,with Ann,down to 105\n"
    "zorb,62x33x18,chy,oil,1l0,2025-01-08,2025-02-05,420,sometime,370,sold,\n"
    "chair,,oak,wax,20,2025-01-09,2025-02-06,60,2025-03-12,4,sold,\n"
    "chair,,oak,wax,20,2025-01-09,2025-02-06,60,2025-03-12,4,sold,\n"
)
CM = (
    "Item,W,D,H,Paid,Sold,Sold for\ndesk,122,61,77,20,03/04/25,160\nnightstand,42,36,61,12,05/04/25,90\n"
    "dresser,48,18,34,10,06/07/25,95\nhutch,46,18,74,40,08/09/25,300\ndresser,150,45,80,40,08/10/25,300\n"
)
YEARS = (
    "type,paid,listed,sold for,sold\noak hutch,40,8 feb,300,3 mar\noak desk,30,14 may,120,9 jun\n"
)
CONTRARY = (
    "type,paid,bought,listed,asked,cuts,sold for,sold\n"
    "oak hutch,40,2025-12-08,2025-01-18,350,-30,300,2026-02-20\n"
    'oak desk,30,2026-03-02,2026-04-10,140,"-10, -10",120,2026-04-03\n'
)
REMARKS = (
    "Piece,Type,Bought,Listed,Asking,Sold on,Sold for,Notes\n"
    'P1,chair,2026-02-01,,,2026-03-29,,"my sister, no charge"\n'
    'P2,chair,2026-02-01,2026-03-01,195,,,"came back 9 Aug 2026, wobbles"\n'
    "P3,chairs,2026-02-01,2026-03-01,195,2026-04-01,160,4 plain + 2 with arms\n"
)
TOLD = {
    "remarks": (REMARKS, ()),
    "sides, days and money": (CM, ()), "days without a year": (YEARS, ()), "days out of order": (CONTRARY, ()),
    "cuts as a price": (CONTRARY, ("heading,cuts,last asking price",)),
}  # fmt: skip
TOLD["before the headings"] = (MANY, ())
TOLD["after the headings"] = (
    MANY,
    (
        "heading,box,size WxHxD", "heading,did,finish", "heading,$in,buy price", "heading,up,listed on",
        "heading,gone,sold on", "heading,$out,sale price", "heading,where is it,outcome", "heading,Got it,bought on",
    ),
)  # fmt: skip


@pytest.mark.parametrize("shop", TOLD)
def test_every_answer_that_is_offered_settles_its_question(tmp_path: Path, shop: str) -> None:
    text, told = TOLD[shop]
    before = read(tmp_path, text, *told)
    kept = (tmp_path / "answers.csv").read_text(encoding="utf-8")
    assert len(before.to_answer) > 1
    deaf = []
    for question in before.to_answer:
        for option in question.options:
            (tmp_path / "answers.csv").write_text(kept, encoding="utf-8")
            keep_answers(tmp_path, [Chosen(question, *option)], on=AS_OF)
            after = read_records(tmp_path, as_of=AS_OF)
            if any(
                (q.about, q.text, q.said) == (question.about, question.text, question.said)
                for q in after.to_answer
            ):
                deaf.append((question.said, option))
    assert not deaf
