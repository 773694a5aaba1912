"""The calendar file, read back by a parser that did not write it (vobject)."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
import vobject

from fleetlib.base.errors import CannotSave
from fleetlib.plan.calendar import calendar_bytes, save_calendar
from fleetlib.plan.markdowns import plan
from tests.plan.plan_shop import AS_OF, DEAR, DRESSER, LISTED, SHOP, KnownPace, shop, shop_with


def made(piece=DRESSER, fits=None, as_of=AS_OF):
    return plan(shop() if fits is None else fits, piece, as_of=as_of, alternatives=False)


def read(content: bytes):
    """The markdowns of a calendar file, and its days of salvage."""
    events = list(vobject.readOne(content.decode("utf-8")).contents.get("vevent", []))
    ends = [e for e in events if "salvage" in e.summary.value]
    return [e for e in events if e not in ends], ends


def test_one_all_day_event_for_each_markdown_with_price_and_lowest_offer():
    planned = made()
    events, ends = read(calendar_bytes(planned))
    rows = planned.table.iloc[1:]
    assert len(events) == len(rows) >= 2
    for event, row in zip(events, rows.itertuples(), strict=True):
        assert event.dtstart.value == row.from_date.date()  # a date without a time: all day
        assert event.dtend.value == row.from_date.date() + timedelta(days=1)
        assert f"A-1, oak dresser: ask ${row.asking_price:.0f} (was $" in event.summary.value
        assert f"about ${row.lowest_offer:.0f}" in event.description.value
        assert event.transp.value == "TRANSPARENT"
        assert event.valarm.trigger.value == timedelta(hours=-6)
    (end,) = ends  # an event too: a to-do alone isn't shown by many calendars
    assert end.dtstart.value == planned.ends_on
    assert "let it go for salvage, about $105" in end.summary.value


def test_a_listed_piece_has_its_first_step_too_when_it_comes_down_today():
    planned = made(DEAR, shop_with(markdown_weekday="Wednesday"))
    events, _ = read(calendar_bytes(planned))
    assert len(events) == len(planned.table)
    assert events[0].dtstart.value == AS_OF
    assert "(was $520)" in events[0].summary.value


def test_importing_twice_does_not_double():
    planned = made()
    book = {}
    for once_more in (planned, plan(shop(), DRESSER)):  # made anew, with all that goes into a plan
        for event in read(calendar_bytes(once_more))[0]:
            book[event.uid.value] = event
    assert len(book) == len(planned.table) - 1


def test_a_second_plan_of_a_day_after_a_markdown_is_the_later_one():
    first, second = (
        made(LISTED),
        made(LISTED, shop(events=[("2026-09-30", "A-2", "asking_price", 400)])),
    )
    old, new = (read(calendar_bytes(p))[1][0] for p in (first, second))
    assert old.uid.value == new.uid.value
    assert int(new.sequence.value) > int(old.sequence.value)


def test_two_pieces_without_a_name_are_two():
    nameless = replace(DRESSER, piece=None)
    other = replace(nameless, gut_price=500.0)
    uids = [e.uid.value for p in (nameless, other) for e in read(calendar_bytes(made(p)))[0]]
    assert len(set(uids)) == len(uids) >= 2


def test_a_later_plan_of_the_piece_replaces_its_events():
    own = shop_with(most_markdowns=2)
    first = made(fits=own)
    day = first.table["from_date"].iloc[1].date()
    listed = replace(DRESSER, listed_on=AS_OF, asking_price=first.table["asking_price"].iloc[0])
    again = made(listed, fits=own, as_of=day)
    old, new = (read(calendar_bytes(p))[0] for p in (first, again))
    assert [e.uid.value for e in new] == [e.uid.value for e in old]
    assert int(new[0].sequence.value) > int(old[0].sequence.value)


def test_a_markdown_that_moves_to_another_day_is_the_same_event():
    friday, monday = (
        read(calendar_bytes(made(fits=shop_with(most_markdowns=1, markdown_weekday=day))))[0]
        for day in ("Friday", "Monday")
    )
    assert friday[0].uid.value == monday[0].uid.value
    assert friday[0].dtstart.value != monday[0].dtstart.value


def test_other_pieces_have_other_events():
    uids = [e.uid.value for p in (DRESSER, LISTED) for e in read(calendar_bytes(made(p)))[0]]
    assert len(set(uids)) == len(uids)


def test_the_same_plan_gives_the_same_bytes_stamped_by_its_day():
    assert calendar_bytes(made()) == calendar_bytes(made())
    events, _ = read(calendar_bytes(made()))
    assert events[0].dtstamp.value == datetime(2026, 9, 30, tzinfo=UTC)


def test_the_file_keeps_the_rules_of_rfc_5545():
    # RFC 5545: lines end in CRLF (3.1), at most 75 octets a line (3.1), PRODID and VERSION once (3.6),
    # UID and DTSTAMP in every component (3.6.1)
    long = replace(
        DRESSER, piece="The long walnut-veneered sideboard, from the cellar; with éàü " * 2
    )
    content = calendar_bytes(made(long))
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert content.count(b"\n") == content.count(b"\r\n")
    assert max(map(len, content.split(b"\r\n"))) <= 75
    assert content.count(b"PRODID:") == content.count(b"\r\nVERSION:2.0\r\n") == 1
    parts = content.count(b"BEGIN:VEVENT")
    assert content.count(b"\r\nUID:") == content.count(b"\r\nDTSTAMP:") == parts
    events, _ = read(content)
    assert events[0].summary.value.startswith(long.piece.strip())  # commas, semicolons and all


def test_a_piece_to_salvage_now_has_only_that():
    slow = shop(settings=replace(SHOP, holding_cost_per_week=25.0), pace=KnownPace(level=-6.0))
    events, ends = read(calendar_bytes(made(fits=slow)))
    assert not events
    assert ends[0].dtstart.value == AS_OF


def test_a_plan_without_markdowns_is_still_a_calendar():
    events, ends = read(calendar_bytes(made(fits=shop_with(most_markdowns=0))))
    assert (len(events), len(ends)) == (0, 1)


def test_it_is_written_whole_and_says_where_it_cannot(tmp_path):
    path = save_calendar(made(), tmp_path / "A-1.ics")
    assert path.read_bytes() == calendar_bytes(made())
    assert [p.name for p in tmp_path.iterdir()] == ["A-1.ics"]
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotSave, match="cannot be written"):
        save_calendar(made(), tmp_path / "file" / "A-1.ics")


def test_no_clock_no_machine_name():
    content = calendar_bytes(made()).decode()
    assert f"{date.today():%Y%m%d}T" not in content or date.today() == AS_OF
    assert "@" not in content
