"""What is due today, from a small folder whose answer is known."""

import base64
import io
import re
from datetime import date
from pathlib import Path

import pytest

import fleetlib as fl
from fleetlib.base.kit import demo_folder
from fleetlib.desk.logging_lines import inbox, log_entry, understood
from fleetlib.desk.pages import save_advice, save_today
from fleetlib.shop import Shop
from fleetlib.week.today import today

HEAD = "piece,furniture_type,wood,asking_price,listed_on,sale_price,sold_on,hours,gut_price\n"
SOLD = "".join(
    f"S{i},{kind},oak,{300 + 10 * i},2026-0{1 + i % 6}-05,{280 + 10 * i},"
    f"2026-0{1 + i % 6}-25,{5 + i % 3},{300 + 10 * i}\n"
    for i, kind in enumerate(["dresser", "desk", "hutch"] * 4)
)


def _shop(folder: Path, rows: str, events: str = "") -> Shop:
    folder.mkdir()
    (folder / "flips.csv").write_text(HEAD + SOLD + rows, encoding="utf-8")
    (folder / "settings.toml").write_text("as_of = 2026-09-30\n", encoding="utf-8")
    if events:
        (folder / "events.csv").write_text(
            "on,piece,event,amount,note\n" + events, encoding="utf-8"
        )
    return fl.open_shop(folder)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    rows = (
        "L1,dresser,oak,400,2026-09-20,,,,390\n"
        "W1,desk,oak,,,,,,200\n"
        "N1,hutch,oak,,2026-08-01,,2026-09-01,4,\n"
    )
    return _shop(tmp_path_factory.mktemp("t") / "shop", rows, "2026-09-29,L1,offer,150,\n")


def _of(found: object, kind: str) -> list[str]:
    rows = found.table[found.table["kind"] == kind]  # type: ignore[attr-defined]
    return [f"{r.piece}: {r.do}" for r in rows.itertuples()]


def test_an_offer_comes_first_and_is_answered(shop: Shop) -> None:
    found = shop.today()
    assert found.table["kind"].iloc[0] == "offer"
    assert _of(found, "offer")[0].startswith("L1: An offer of $150: ")


def test_unfinished_work_and_missing_entries_are_named(shop: Shop) -> None:
    found = shop.today()
    assert _of(found, "work")[0].startswith("W1: ")
    assert "W1: the hours worked so far" in _of(found, "entry")
    assert set(found.cards["piece"]) >= {"L1", "W1"}


def test_work_below_the_target_pay_is_called_so_here_and_where_work_is_ranked(
    tmp_path: Path,
) -> None:
    _shop(tmp_path / "shop", "W1,desk,oak,,,,,,200\n")

    def at(target: int) -> tuple[Shop, str]:
        text = f"as_of = 2026-09-30\ntarget_hourly_pay = {target}\n"
        (tmp_path / "shop" / "settings.toml").write_text(text, encoding="utf-8")
        opened = fl.open_shop(tmp_path / "shop")
        return opened, _of(opened.today(), "work")[0]

    assert at(1)[1].endswith(" hours left")
    dear, do = at(90)
    pay = round(float(dear.what_next().table["per_hour"].iloc[0]))
    both = "worth it only while no other work pays more; else sell as it stands"
    assert do.endswith(f"at about ${pay} an hour, under your target of $90: {both}")
    assert any(note.endswith(both) for note in dear.what_next().notes)


def test_a_saved_markdown_falls_due_on_its_day_and_is_called_late_after_it(tmp_path: Path) -> None:
    shop = _shop(tmp_path / "shop", "L1,dresser,oak,400,2026-08-20,,,,390\n")
    log = tmp_path / "shop" / "advice_log.csv"
    plan = (
        '[{""from_date"":""2026-08-21"",""asking_price"":400},'
        '{""from_date"":""2026-09-25"",""asking_price"":360,""by_date"":""2027-01-01""}]'
    )
    log.write_text(
        "date,piece,low,mid,high,level,days_listed,gut_price,asking_price,floor,expected_net,expected_days,plan\n"
        f'2026-08-21,L1,300,350,420,0.8,25,390,400,100,330,40,"{plan}"\n',
        encoding="utf-8",
    )
    shop.reread()
    assert _of(shop.today(), "markdown") == ["L1: from $400 to $360 (due since 25 Sep 2026)"]
    (tmp_path / "shop" / "events.csv").write_text(
        "on,piece,event,amount,note\n2026-09-26,L1,asking_price,360,\n"
    )
    shop.reread()
    assert _of(shop.today(), "markdown") == []
    log.write_text(log.read_text().replace("2027-01-01", "2026-09-29"), encoding="utf-8")
    shop.reread()
    assert _of(shop.today(), "past plan")[0].startswith("L1: its plan ended on 29 Sep 2026")


def test_a_plan_saved_before_the_listing_runs_from_the_day_it_was_listed(tmp_path: Path) -> None:
    shop = _shop(tmp_path / "shop", "L1,dresser,oak,400,2026-09-20,,,,390\n")
    plan = (
        '[{""from_date"":""2026-06-01"",""asking_price"":400},'
        '{""from_date"":""2026-07-15"",""asking_price"":360,""by_date"":""2026-09-01""}]'
    )
    (tmp_path / "shop" / "advice_log.csv").write_text(
        "date,piece,low,mid,high,level,days_listed,gut_price,asking_price,floor,expected_net,expected_days,plan\n"
        f'2026-06-01,L1,300,350,420,0.8,25,390,400,100,330,40,"{plan}"\n',
        encoding="utf-8",
    )
    shop.reread()
    assert _of(shop.today(), "markdown") == _of(shop.today(), "past plan") == []
    later = fl.open_shop(tmp_path / "shop", as_of=date(2026, 11, 4)).today()
    assert _of(later, "markdown") == ["L1: from $400 to $360 (due since 3 Nov 2026)"]


def test_nothing_due_is_said(tmp_path: Path) -> None:
    found = _shop(tmp_path / "shop", "").today()
    assert "Nothing is due." in str(found)
    assert "Nothing is due." in found._repr_html_()


def test_a_backup_older_than_a_month_is_asked_for(shop: Shop) -> None:
    old = today(shop.fits, last_backup=date(2026, 8, 1), backups_wanted=True)
    assert any(
        "a backup of this folder (the last is of 1 Aug 2026)" in e for e in _of(old, "entry")
    )
    fresh = today(shop.fits, last_backup=date(2026, 9, 15), backups_wanted=True)
    assert not any("backup" in e for e in _of(fresh, "entry"))


def test_the_page_carries_a_photograph_without_its_place(tmp_path: Path) -> None:
    from PIL import Image

    shop = _shop(tmp_path / "shop", "L1,dresser,oak,400,2026-09-20,,,,390\n")
    (tmp_path / "shop" / "photos").mkdir()
    tagged = Image.Exif()
    tagged[0x0110] = "CAMERA-XYZ"
    tagged.get_ifd(0x8825).update({1: "N", 2: (48.0, 12.0, 30.0)})  # the place
    Image.new("RGB", (1200, 900), (120, 80, 40)).save(
        tmp_path / "shop" / "photos" / "L1.jpg", exif=tagged
    )
    save_advice(shop.advise("L1"), tmp_path / "out")
    page, dates, _ = save_today(shop.fits, tmp_path / "out")
    text = page.read_text(encoding="utf-8")
    data = base64.b64decode(re.search(r"data:image/jpeg;base64,([^\"]+)", text)[1])  # type: ignore[index]
    assert b"CAMERA-XYZ" not in data
    assert not Image.open(io.BytesIO(data)).getexif()
    assert max(Image.open(io.BytesIO(data)).size) == 480
    assert 'href="advice-L1.html"' in text
    assert not re.search(r"https?://", text)
    assert dates.name == "shop.ics"


def test_one_calendar_holds_every_plan_once_however_often_it_is_made(tmp_path: Path) -> None:
    import icalendar
    import vobject

    shop = fl.open_shop(demo_folder())
    _, dates, _ = save_today(shop.fits, tmp_path)
    first = dates.read_bytes()
    read = icalendar.Calendar.from_ical(first)
    events = list(read.walk("VEVENT"))
    ids = [str(e["uid"]) for e in events]
    assert len(ids) == len(set(ids)) >= len(shop.today().cards)
    assert all(e.walk("VALARM") for e in events)
    assert any("A-234, oak china hutch: ask" in str(e["summary"]) for e in events)
    other = vobject.readOne(first.decode("utf-8"))
    assert sorted(e.uid.value for e in other.vevent_list) == sorted(ids)
    save_today(shop.fits, tmp_path)
    assert dates.read_bytes() == first


def test_each_thing_due_has_its_line_and_the_inbox_takes_it(tmp_path: Path) -> None:
    rows = (
        "L1,dresser,oak,400,2026-09-20,,,,390\n"
        "Long Table,desk,oak,500,2026-09-01,,2026-09-20,4,\n"
        "W1,desk,oak,,,,,,200\n"
        "L2,hutch,oak,,2026-09-10,,,5,300\n"
    )
    shop = _shop(tmp_path / "shop", rows, "2026-09-29,L1,offer,150,\n")
    found = shop.today().table
    lines = dict(zip(found["piece"] + " " + found["kind"], found["type"], strict=True))
    assert lines["L1 offer"] == "offer refused L1"
    assert lines["Long Table entry"] == 'sold "Long Table" for ...'
    assert lines["W1 work"] == "worked W1 ... min"
    asked = [t for t in found["type"] if t.startswith("asking L2")]
    assert asked == ["asking L2 ..."]
    page = save_today(shop.fits, tmp_path / "out")[0].read_text(encoding="utf-8")
    assert "What is shaded goes into fleetlib log" in page and "»" not in page
    # With the person's own amounts filled in, each goes through the inbox and is due no more.
    typed = [
        "offer refused L1",
        'sold "Long Table" for 470',
        "worked W1 90 min",
        "asking L2 310",
    ]
    (tmp_path / "shop" / "inbox.txt").write_text("\n".join(typed), encoding="utf-8")
    for line in inbox(shop.records):
        assert line.entry is not None, line.why
        log_entry(shop.records, line.entry)
    shop.reread()
    left = shop.today().table
    assert not set(left.loc[left["kind"] == "entry", "piece"]) & {"Long Table", "W1", "L2"}
    assert not (left["kind"] == "offer").any(), "a refused offer waits for no answer"
    log_entry(shop.records, understood(shop.records, "offer L1 200"))
    shop.reread()
    assert (shop.today().table["kind"] == "offer").sum() == 1, "a new one does"


def test_rows_that_cannot_be_told_apart_are_to_be_mended_in_their_file(tmp_path: Path) -> None:
    row = ",desk,oak,500,2026-09-01,,2026-09-20,4,\n"
    entries = (
        _shop(tmp_path / "shop", row + row).today().table.query("kind == 'entry' and piece != ''")
    )
    assert set(entries["do"]) == {"what it sold for, in flips.csv itself"}
    assert set(entries["type"]) == {""}


def test_a_sheet_of_tags_bears_the_shops_name_and_every_piece_once(tmp_path: Path) -> None:
    shop = _shop(
        tmp_path / "shop",
        "L1,dresser,oak,400,2026-09-20,,,,390\nL2,desk,oak,300,2026-09-10,,,5,280\n",
    )
    settings = tmp_path / "shop" / "settings.toml"
    settings.write_text(
        settings.read_text() + 'shop_name = "Corner <Shed>"\nlength_unit = "cm"\n', encoding="utf-8"
    )
    shop.reread()
    page, _, tags = save_today(shop.fits, tmp_path / "out")
    text = tags.read_text(encoding="utf-8")
    assert tags.name == "tags.html"
    assert text.count("<article>") == 2
    assert text.count("Corner &lt;Shed&gt;") == 2
    assert 'href="tags.html"' in page.read_text(encoding="utf-8")
    saved = save_advice(shop.advise("L1"), tmp_path / "out")
    assert "Corner &lt;Shed&gt;" in saved[2].read_text(encoding="utf-8")


def test_a_fresh_listing_not_worth_waiting_for_is_not_past_its_plan(tmp_path: Path) -> None:
    found = _shop(tmp_path / "shop", "L1,dresser,oak,40,2026-09-20,,,,\n").today()
    assert _of(found, "past plan") == []
    assert _of(found, "let go")[0].startswith("L1: let it go for what it brings, about $")
    assert "Not worth more weeks of waiting" in str(found)
