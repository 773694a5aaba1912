"""What the advice says about the advice saved before it."""

import json
from datetime import date

from fleetlib.base.kit import kit_version
from fleetlib.base.settings import read_settings
from fleetlib.desk.start import start_shop
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import SavedAdvice, append_advice, append_event
from fleetlib.shop import open_shop
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
    assert "On 10 Jun 2026 the advice was to ask $300; it is now $20 less" in said
    assert "1 sale of other pieces, 14 more days unsold, 1 x offer logged" in said
    assert since_saved(records, "A", asking_price=300) == ""
    assert since_saved(records, "B", asking_price=300) == ""


def test_where_nothing_came_between_it_says_what_is_left(tmp_path):
    (tmp_path / "flips.csv").write_text(HEAD + "A,desk,2026-06-01,300,,\n")
    append_advice(tmp_path, SavedAdvice(on=date(2026, 6, 10), piece="A", asking_price=300))
    records = read_records(tmp_path, as_of=date(2026, 6, 10))
    assert "so the record was changed" in since_saved(records, "A", asking_price=320)


def test_a_new_kit_a_setting_and_an_answer_are_named(tmp_path, monkeypatch):
    (tmp_path / "flips.csv").write_text(HEAD + "A,desk,,,,\n")
    (tmp_path / "settings.toml").write_text("target_hourly_pay = 30\nprice_step = 10\n")
    then = read_settings(tmp_path / "settings.toml")
    plan = [{"asking_price": 300, "kit": kit_version(), "settings": then.differing()}]
    append_advice(
        tmp_path, SavedAdvice(on=date(2026, 6, 10), piece="A", asking_price=300, plan=plan)
    )
    records = read_records(tmp_path, as_of=date(2026, 6, 12))
    assert "is known to have come between" in since_saved(records, "A", asking_price=320)
    (tmp_path / "settings.toml").write_text("target_hourly_pay = 35\nprice_step = 10\n")
    (tmp_path / "answers.csv").write_text(
        "on,about,text,meaning\n2026-06-11,kind,buffet,sideboard\n2026-06-01,kind,x,y\n"
    )
    monkeypatch.setattr("fleetlib.week.since_saved.kit_version", lambda: "9.9")
    records = read_records(tmp_path, as_of=date(2026, 6, 12))
    said = since_saved(records, "A", asking_price=320)
    assert f"fleetlib {kit_version()} became 9.9" in said
    assert "target_hourly_pay changed in settings.toml" in said
    assert "price_step" not in said
    assert "1 answer given" in said


def test_saved_advice_names_the_kit_and_the_settings(tmp_path):
    start_shop(tmp_path / "shop", demo=True)
    shop = open_shop(tmp_path / "shop")
    name = shop.flips.loc[shop.flips["status"] == "listed", "piece"].iloc[0]
    shop.log_advice(shop.advise(name))
    kept = json.loads(read_records(tmp_path / "shop").advice_log["plan"].iloc[-1])
    assert kept[0]["kit"] == kit_version() != ""
    assert kept[0]["settings"] == shop.settings.differing() != ""
