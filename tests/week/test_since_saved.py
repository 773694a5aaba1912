"""What the advice says about the advice saved before it."""

from datetime import date

from fleetlib.records.folder import read_records
from fleetlib.records.log.append import SavedAdvice, append_advice, append_event
from fleetlib.week.since_saved import since_saved

HEAD = "piece,furniture_type,listed_on,asking_price,sold_on,sale_price\n"


def test_a_difference_is_said_with_what_came_between(tmp_path):
    (tmp_path / "flips.csv").write_text(
        HEAD + "A,desk,2026-06-01,300,,\nB,desk,2026-05-01,200,2026-06-20,180\n"
    )
    append_advice(tmp_path, SavedAdvice(on=date(2026, 6, 10), piece="A", asking_price=300))
    append_event(tmp_path, on=date(2026, 6, 15), piece="A", event="offer", amount=200)
    records = read_records(tmp_path, as_of=date(2026, 6, 24))
    said = since_saved(records, "a", asking_price=280)
    assert "On 2026-06-10 the advice was to ask $300; it is now $20 less" in said
    assert "1 sale of other pieces, 14 more days unsold, 1 x offer logged" in said
    assert since_saved(records, "A", asking_price=300) == ""
    assert since_saved(records, "B", asking_price=300) == ""


def test_where_nothing_came_between_it_says_what_is_left(tmp_path):
    (tmp_path / "flips.csv").write_text(HEAD + "A,desk,2026-06-01,300,,\n")
    append_advice(tmp_path, SavedAdvice(on=date(2026, 6, 10), piece="A", asking_price=300))
    records = read_records(tmp_path, as_of=date(2026, 6, 10))
    assert "a setting, an answer" in since_saved(records, "A", asking_price=320)
