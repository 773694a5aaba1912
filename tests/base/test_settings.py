"""settings.toml: each default stated, each refusal naming the key, the value and the way out."""

from datetime import date

import pytest

from fleetlib.base.errors import BadSettings, MissingRecords
from fleetlib.base.settings import SETTINGS, Settings, read_settings, settings_from


def test_every_setting_has_a_unit_and_a_sentence() -> None:
    for setting in SETTINGS:
        assert setting.unit, setting.key
        assert setting.sentence.endswith("."), setting.key


def test_every_default_is_within_its_own_bounds() -> None:
    plain = {
        s.key: s.default
        for s in SETTINGS
        if s.default not in (None, "") and not hasattr(s.default, "keys")
    }
    made = settings_from(plain)
    assert {k: getattr(made, k) for k in plain} == plain


def test_a_settings_file_is_read_whole(tmp_path) -> None:
    (tmp_path / "settings.toml").write_text(
        'currency = "eur"\nas_of = 2026-09-30\ntarget_hourly_pay = 30\nmarkdown_weekday = "sunday"\n'
        'usual_channel = "stall"\n[fee_share]\nstall = 0.1\n[flat_fee]\nstall = 4\n'
        '[words.furniture_type]\nBuffet = "sideboard"\n'
    )
    made = read_settings(tmp_path / "settings.toml")
    assert (made.currency, made.as_of, made.target_hourly_pay) == ("EUR", date(2026, 9, 30), 30.0)
    assert made.markdown_weekday == "Sunday"
    assert (made.fee(), made.fee("elsewhere"), made.selling_cost()) == (0.1, 0.0, 4.0)
    assert made.words["furniture_type"]["buffet"] == "sideboard"


def test_no_file_means_the_defaults_and_a_named_one_must_exist(tmp_path) -> None:
    assert read_settings(None).horizon_weeks == Settings().horizon_weeks == 20
    with pytest.raises(MissingRecords, match="no settings file"):
        read_settings(tmp_path / "settings.toml")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("markdown_day = 3", 'no setting called "markdown_day".*"markdown_weekday"'),
        ("salvage_share = 35", "salvage_share is 35; it must be from 0 to 1"),
        ("horizon_weeks = 7.5", "horizon_weeks is 7.5; it must be a whole number"),
        ("horizon_weeks = true", "horizon_weeks is True; it must be a number"),
        ('target_hourly_pay = "30"', "target_hourly_pay is '30'; it must be a number"),
        ("currency = 5", "currency is 5; it must be text"),
        ('currency = "$"', "three-letter code"),
        ('length_unit = "feet"', 'length_unit is "feet"; it must be one of "in", "cm"'),
        ('as_of = "30/09/2026"', "write it as 2026-09-30"),
        (
            "price_step = 5\nprice_ending = 5",
            "price_ending is 5, which must be below price_step, 5",
        ),
        ("fee_share = 0.1", "needs one line per channel"),
        ("[fee_share]\nstall = 10", 'fee_share of "stall" is 10'),
        ('[words.colour]\nteal = "blue"', r"\[words.colour\] names no column"),
        ("[words.wood]\noak = 3", r"\[words.wood\] needs lines like"),
        ("currency = USD", "cannot be read.*needs quotes"),
        ("horizon_weeks = inf", "horizon_weeks is inf; write a plain number"),
        ("most_markdowns = nan", "most_markdowns is nan; write a plain number"),
        ("price_step = 1" + "0" * 400, "price_step is too large; write a plain number"),
        ("places = 1" + "0" * 5000, "a number in it is too long"),
        ("as_of = 3026-09-30", "as_of is 3026-09-30; its year must be from 1950 to 2150"),
        ("words = " + "[" * 1000, "nested too deep"),
        ("words = " + "[" * 100_000, "nested too deep"),
        ("[groups.small]\ncolumn = 'width_in'\nto = [nan, 3]", "groups is nan"),
        (r'usual_channel = "a\u001b[2Jb"', r"usual_channel holds a character.*U\+001B"),
        ("[fee_share]\n'a\u202eb' = 0.1", r"cannot be seen \(U\+202E\)"),
        ('length_unit = """in\ncm"""', "length_unit holds a text of several lines"),
        ('"a\\nb" = 1', "a b holds a text of several lines"),
        ("# " + "x" * 1_000_000, "larger than 1 MB"),
    ],
)
def test_each_mistake_is_named_with_its_remedy(tmp_path, text, says) -> None:
    (tmp_path / "settings.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadSettings, match=f"(?s){says}"):
        read_settings(tmp_path / "settings.toml")


def test_a_settings_file_in_another_encoding_is_refused(tmp_path) -> None:
    (tmp_path / "settings.toml").write_bytes(b'usual_channel = "caf\xe9"')
    with pytest.raises(BadSettings, match="UTF-8"):
        read_settings(tmp_path / "settings.toml")
