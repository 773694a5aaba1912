"""Rows with the same words, and answers about one of them, as the list is sorted anew or changed."""

from __future__ import annotations

from pathlib import Path

from fleetlib.desk.answering import answer_check
from fleetlib.records.folder import Records, read_records
from tests.records.answered import AS_OF, asked, read

HEAD = "Item,Bought,Paid,Listed,Asking,Sold on,Sold for,Hours,Notes\n"
FIRST = "oak dresser,2026-01-05,60,2026-02-01,320,2026-02-20,300,12,\n"
BARE = "pine nightstand,2026-03-05,20,2026-03-10,90,2026-03-20,80?40,3,\n"
NOTED = BARE.replace("3,\n", "3,scratched top\n")


def answer(folder: Path, line: int, meaning: str) -> Records:
    """Answer what is asked about the price of one line."""
    found = read_records(folder, as_of=AS_OF)
    (n,) = [n for n, q in enumerate(found.to_answer, 1) if f"Line {line}," in q.said and "80?40" in q.said]  # fmt: skip
    answer_check(folder, [f"{n}={meaning}"])
    return read_records(folder, as_of=AS_OF)


def got(found: Records) -> dict[str, list[float]]:
    """By note (or none) what the nightstands sold for."""
    rows = found.flips[found.flips["furniture_type"] == "nightstand"].fillna({"notes": "bare"})
    return {str(n): g["sale_price"].tolist() for n, g in rows.groupby("notes")}


def test_answers_about_rows_with_the_same_words_stay_when_the_list_is_sorted_anew(
    tmp_path: Path,
) -> None:
    read(tmp_path, HEAD + FIRST + BARE + NOTED)
    answer(tmp_path, 4, "40")
    assert got(answer(tmp_path, 3, "80")) == {"bare": [80], "scratched top": [40]}
    (tmp_path / "flips.csv").write_text(HEAD + FIRST + NOTED + BARE, encoding="utf-8")
    found = read_records(tmp_path, as_of=AS_OF)
    assert got(found) == {"bare": [80], "scratched top": [40]} and not asked(found, "cell")


def test_of_rows_that_are_the_same_an_answer_counts_only_while_they_are_so_many(
    tmp_path: Path,
) -> None:
    read(tmp_path, HEAD + BARE + FIRST + BARE)
    answer(tmp_path, 2, "80")
    assert got(answer(tmp_path, 4, "40")) == {"bare": [80, 40]}
    (tmp_path / "flips.csv").write_text(HEAD + NOTED + FIRST + BARE, encoding="utf-8")
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.flips["sale_price"].dropna().tolist() == [300]
    assert len([q for q in asked(found, "cell") if "80?40" in q.said]) == 2


def test_rows_alike_are_asked_about_by_name_and_only_a_copy_is_set_aside(tmp_path: Path) -> None:
    stand = "pine nightstand,2026-03-05,20,2026-03-10,90,{},3,{}\n"
    chair = "oak chair,2026-03-06,5,2026-03-11,40,,,1,\n"
    differ = stand.format("2026-03-20,80", "") + stand.format("2026-03-28,75", "left one")
    found = read(tmp_path, HEAD + FIRST + differ + chair + chair)
    stands, chairs = sorted(asked(found, "rows"), key=lambda q: q.cost)
    assert "(lines 3, 4;" in stands.said and "(lines 5, 6;" in chairs.said
    assert "though they differ in sold on and sale price" in stands.said
    assert [o.meaning for o in stands.options] == ["different pieces"]
    assert [o.meaning for o in chairs.options] == ["different pieces", "the same twice"]
    found = read(
        tmp_path, HEAD + FIRST + differ + chair + chair, f"rows,{chairs.text},the same twice"
    )
    assert found.set_aside["line"].tolist() == [6]
    everything = f"{chairs.text}; {stands.text}"  # as it was asked of all in one before
    found = read(
        tmp_path, HEAD + FIRST + differ + chair + chair, f"rows,{everything},the same twice"
    )
    assert found.set_aside["line"].tolist() == [6] and found.flips["sale_price"].count() == 3


def test_rows_answered_to_be_each_a_piece_are_noted_no_more(tmp_path: Path) -> None:
    chair = "oak chair,2026-03-06,5,2026-03-11,40,,,1,\n"
    before = read(tmp_path, HEAD + FIRST + chair + chair)
    assert any("same in every cell" in n for n in before.notes)
    (question,) = before.to_answer
    found = read(tmp_path, HEAD + FIRST + chair + chair, f"rows,{question.text},different pieces")
    assert not found.to_answer and not any("same in every cell" in n for n in found.notes)
    assert "piece" not in set(found.questions["column"])


BACK = "walnut coffee table,2026-02-02,40,2026-03-01,220,2026-03-15,200,8,Returned\n"


def test_an_answer_about_a_return_outlives_a_day_of_its_row_typed_anew(tmp_path: Path) -> None:
    head = HEAD.replace("Notes", "Status")
    (question,) = asked(read(tmp_path, head + FIRST.replace(",\n", ",Sold\n") + BACK), "cell")
    assert "came back" in question.said
    told = f"cell,{question.filed},2026-03-20"
    mended = FIRST.replace(",\n", ",Sold\n") + BACK.replace("2026-02-02", "2026-02-03")
    found = read(tmp_path, head + mended, told)
    assert not asked(found, "cell")
    assert any("counts for walnut coffee table of 3 Feb 2026" in n for n in found.notes)
    twin = BACK.replace("2026-02-02", "2026-02-09")
    found = read(tmp_path, head + mended + twin, told)  # which of the two it was, nobody can say
    assert len(asked(found, "cell")) == 2
    found = read(
        tmp_path, head + BACK + twin, told
    )  # it is still there: nothing is told of the other
    assert [q.said[:7] for q in asked(found, "cell")] == ["Line 3,"]
