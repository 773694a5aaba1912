"""settings.toml -> Settings: every default stated with its unit, its bounds and a sentence."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fleetlib.base.errors import BadSettings, MissingRecords
from fleetlib.base.nearest import nearest
from fleetlib.base.opening import content_of, is_there
from fleetlib.base.unseen import named, without_unseen

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_NOTHING: Mapping[str, Any] = MappingProxyType({})


def _nothing() -> Mapping[str, Any]:
    return _NOTHING


def _setting(
    default: Any,
    sentence: str,
    unit: str,
    bounds: tuple[float, float] | tuple[str, ...] | None = None,
) -> Any:
    """A field of `Settings` with what `SETTINGS` says of it; `default` may make the value."""
    about = {"sentence": sentence, "unit": unit, "bounds": bounds}
    if callable(default):
        return field(default_factory=default, metadata=about)
    return field(default=default, metadata=about)


@dataclass(frozen=True, slots=True)
class OwnGroups:
    """One grouping of the owner's: the column it rolls up, and each group's words, or its two ends (from, below)."""

    column: str
    parts: Mapping[str, tuple[str | float, ...]]


@dataclass(frozen=True, eq=False, slots=True)
class Settings:
    """What the owner has decided about their shop. `SETTINGS` lists each with unit, bounds and sentence.

    The defaults (pay an hour, 1% a week for holding, two weeks between markdowns and three of them, 20 weeks,
    35% as salvage value) are common practice, no source; each shop puts its own.
    """

    currency: str = _setting(
        "USD", "The money everything is in, as a three-letter code.", "ISO 4217 code"
    )
    shop_name: str = _setting(
        "", "What your price tags name your shop; left empty, they name none.", "text"
    )
    length_unit: str = _setting(
        "in", "The unit of sizes whose heading and cell name none.", "in or cm", ("in", "cm")
    )
    date_order: str = _setting(
        "",
        "How dates like 03/04/26 are meant; left empty, the columns decide or you are asked.",
        "day first or month first",
        ("", "day first", "month first"),
    )
    borrow: bool = _setting(
        True,
        "Whether prices may lean on what second-hand furniture is asked in general, and hours on trade guides, "
        "while your own records are few; with false only they speak, and under 5 sales there is no estimate.",
        "true or false",
    )
    target_hourly_pay: float = _setting(
        25.0,
        "What an hour of your hands should bring in, before tax; used for what to pay for a find.",
        "money an hour",
        (0, 1000),
    )
    holding_cost_per_week: float | None = _setting(
        None,
        "What a week of an unsold piece costs you (space, moving it, money tied up); left out, 1% of its "
        "usual sale price.",
        "money a week",
        (0, 1000),
    )
    least_cash: float = _setting(
        0.0,
        "The least cash you want in hand from any sale, whatever the records say.",
        "money",
        (0, 1e6),
    )
    markdown_weekday: str = _setting(
        "Friday", "The day of the week on which you change prices.", "day of the week", WEEKDAYS
    )
    weeks_between_markdowns: int = _setting(
        2, "At least this many weeks between one markdown and the next.", "weeks", (1, 26)
    )
    most_markdowns: int = _setting(
        3, "At most this many markdowns for one piece.", "markdowns", (0, 10)
    )
    price_step: float = _setting(
        10.0, "Asking prices go up in steps of this size.", "money", (0.01, 1000)
    )
    price_ending: float = _setting(
        0.0,
        "What every asking price ends on: with step 10 and ending 5 you ask 385, 395, 405.",
        "money",
        (0, 1000),
    )
    horizon_weeks: int = _setting(
        20,
        "After this many weeks on the market you would let a piece go for its salvage value.",
        "weeks",
        (2, 104),
    )
    salvage_share: float = _setting(
        0.35,
        "What a piece that will not sell still brings, as a share of its usual sale price.",
        "share, 0 to 1",
        (0, 1),
    )
    usual_channel: str = _setting(
        "", "Where you usually sell; decides which fee a plan counts on.", "your own word"
    )
    delivery_cost: float = _setting(
        0.0,
        "What delivering one piece costs you where the buyer is not charged for it.",
        "money",
        (0, 10000),
    )
    places: int = _setting(
        0,
        "How many pieces your room holds, in work and on sale together; 0: room is no concern.",
        "pieces",
        (0, 10000),
    )
    reserve_share: float = _setting(
        0.0,
        "The share of profit you put aside for taxes; your own figure, not advice.",
        "share, 0 to 1",
        (0, 0.9),
    )
    backup_days: int = _setting(
        31, "You are reminded when the last backup is older than this; 0: never.", "days", (0, 1000)
    )
    as_of: date | None = _setting(  # noqa: RUF009 - it is a field
        None, "The day everything is worked out for; left out, today.", "date"
    )
    fee_share: Mapping[str, float] = _setting(
        _nothing,
        "The share of the sale price that each channel keeps.",
        "share, 0 to 1, by channel",
        (0, 0.9),
    )
    flat_fee: Mapping[str, float] = _setting(
        _nothing, "The fixed fee of each channel for one sale.", "money, by channel", (0, 10000)
    )
    drying_days: Mapping[str, float] = _setting(
        _nothing,
        "How many days each finish dries before the piece can be sold; used until enough of your own work "
        "is logged to tell.",
        "days, by finish",
        (0, 365),
    )
    groups: Mapping[str, OwnGroups] = _setting(
        _nothing,
        'Groups of your own to ask by, each named by you: under [groups.coat] column = "finish", '
        'natural = ["oil", "wax"]; of a measure, small = [0, 36] counts from 0 to below 36.',
        "column and groups, by name",
    )
    words: Mapping[str, Mapping[str, str]] = _setting(
        _nothing,
        'Your own words and what they stand for, by column: under [words.furniture_type] buffet = "sideboard".',
        "your word = our word, by column",
    )

    chosen: frozenset[str] = field(default=frozenset(), repr=False)  # the keys the owner wrote down

    def fee(self, channel: str | None = None) -> float:
        """The share of the sale price that `channel` (default: the usual one) keeps; 0 when not set."""
        return float(self.fee_share.get(channel or self.usual_channel, 0.0))

    def selling_cost(self, channel: str | None = None) -> float:
        """The fixed money one sale costs: the channel's flat fee and the delivery the buyer is not charged for."""
        return float(self.flat_fee.get(channel or self.usual_channel, 0.0)) + self.delivery_cost

    def differing(self) -> str:
        """Settings that differ from the defaults, as `borrow=False; price_step=5.0`; as_of and backup_days left out."""
        differ = []
        for one in fields(self):
            default = one.default if one.default is not MISSING else _NOTHING
            value = getattr(self, one.name)
            if one.name not in ("as_of", "backup_days", "chosen") and value != default:
                said = dict(sorted(value.items())) if isinstance(value, Mapping) else value
                differ.append(f"{one.name}={said}".replace(";", ","))
        return "; ".join(differ)


WORD_COLUMNS = ("furniture_type", "wood", "construction", "finish", "style", "channel")


@dataclass(frozen=True, slots=True)
class Setting:
    """One key of settings.toml: its default, its unit, its bounds (or allowed words) and a sentence."""

    key: str
    default: Any
    unit: str
    sentence: str
    bounds: tuple[Any, ...] | None


SETTINGS: tuple[Setting, ...] = tuple(
    Setting(
        f.name,
        _NOTHING if f.default is MISSING else f.default,
        f.metadata["unit"],
        f.metadata["sentence"],
        f.metadata["bounds"],
    )
    for f in fields(Settings)
    if f.metadata
)
_BY_KEY = {s.key: s for s in SETTINGS}


MOST_BYTES = 1_000_000  # of settings.toml; a full one is a hundredth of this


def settings_in(folder: str | Path, *, pass_over: list[str] | None = None) -> Settings:
    """The settings of a shop folder: its settings.toml, or the defaults where there is none. As `read_settings`."""
    path = Path(folder) / "settings.toml"
    return read_settings(path if is_there(path, refusal=BadSettings) else None, pass_over=pass_over)


def read_settings(path: str | Path | None, *, pass_over: list[str] | None = None) -> Settings:
    """Read settings.toml at `path`; with None, or where there is no such file in a folder, the defaults.

    `pass_over`: given a list, keys that are not known (a newer kit's) are added to it instead of being refused.
    Raises MissingRecords when a file was named and is not there, BadSettings when it is not TOML, holds an
    unknown key (the nearest known one is named), a wrong kind of value or one out of bounds.
    """
    if path is None:
        return Settings()
    place = Path(path)
    if not is_there(place, refusal=BadSettings):
        raise MissingRecords(
            f"There is no settings file at {place}. Leave it out to use the defaults."
        )
    found = _toml(content_of(place, most=MOST_BYTES, refusal=BadSettings), place.name)
    if pass_over is not None:
        pass_over += [key for key in found if key not in _BY_KEY]
        found = {key: value for key, value in found.items() if key in _BY_KEY}
    return settings_from(found, name=place.name)


def _toml(data: bytes, name: str) -> dict[str, Any]:
    """What a settings file says. Raises BadSettings for what is no TOML, or holds what no setting can be."""
    try:
        text = data.decode("utf-8-sig")
        if bad := named(text):
            raise BadSettings(
                f"{name} holds a character that cannot be seen ({bad}). Type that line again."
            )
        return tomllib.loads(text)
    except UnicodeDecodeError as problem:
        raise BadSettings(
            f"{name} is not plain text in UTF-8. Save it again as UTF-8."
        ) from problem
    except tomllib.TOMLDecodeError as problem:
        raise BadSettings(
            f'{name} cannot be read: {problem}. Text needs quotes: currency = "USD".'
        ) from problem
    except RecursionError:
        raise BadSettings(f"{name} cannot be read: its brackets are nested too deep.") from None
    except ValueError as problem:
        if isinstance(problem, BadSettings):
            raise
        raise BadSettings(f"{name} cannot be read: a number in it is too long.") from None


def _leaves(value: object, where: str = "") -> Iterator[tuple[str, Any]]:
    """Every key and every value, each with the top-level key it is under."""
    if isinstance(value, Mapping):
        for key, held in value.items():
            yield where or key, key
            yield from _leaves(held, where or key)
    elif isinstance(value, list):
        for held in value:
            yield from _leaves(held, where)
    else:
        yield where, value


def _refuse_odd(where: str, value: Any, name: str) -> None:
    """Refuse a text with unseen characters, too long or of several lines, and a number not finite or far too large."""
    where = " ".join(without_unseen(where).split())[:_MOST_SHOWN]
    if isinstance(value, str) and named(value):
        raise BadSettings(
            f"{name}: {where} holds a character that cannot be seen ({named(value)}). Type it again."
        )
    if isinstance(value, str) and (len(value) > _MOST_TEXT or len(value.splitlines()) > 1):
        raise BadSettings(f"{name}: {where} holds a text of several lines; write it on one line.")
    numeric = isinstance(value, int | float) and not isinstance(value, bool)
    open_end = where == "groups" and value in (math.inf, -math.inf)  # a group without an upper end
    if numeric and not open_end and not -_BEYOND <= value <= _BEYOND:
        said = value if isinstance(value, float) and not math.isfinite(value) else "too large"
        raise BadSettings(f"{name}: {where} is {said}; write a plain number.")


_BEYOND = 1e12
_MOST_TEXT, _MOST_SHOWN = 500, 60  # letters


def settings_from(found: Mapping[str, Any], *, name: str = "settings.toml") -> Settings:
    """Settings from a plain mapping of keys; `name` is the file named in refusals. Raises BadSettings."""
    for where, value in _leaves(found):
        _refuse_odd(where, value, name)
    chosen: dict[str, Any] = {}
    for key, value in found.items():
        if key not in _BY_KEY:
            near = nearest(key, _BY_KEY)
            hint = f'Did you mean "{near[0]}"?' if near else f"The keys are: {', '.join(_BY_KEY)}."
            raise BadSettings(f'{name}: there is no setting called "{key}". {hint}')
        chosen[key] = _READERS.get(key, _plain)(_BY_KEY[key], value, name)
    made = Settings(**chosen, chosen=frozenset(chosen))
    if made.price_ending >= made.price_step:
        raise BadSettings(
            f"{name}: price_ending is {made.price_ending:g}, which must be below price_step, {made.price_step:g}."
        )
    return made


def _plain(setting: Setting, value: Any, name: str) -> Any:
    def wrong(must: str) -> BadSettings:
        return BadSettings(f"{name}: {setting.key} is {value!r}; it must be {must}.")

    kind = type(setting.default) if setting.default is not None else float
    if kind is bool:
        if not isinstance(value, bool):
            raise wrong("true or false, without quotes")
        return value
    if kind is str:
        if not isinstance(value, str):
            raise wrong(f"text in quotes ({setting.unit})")
        return _allowed_word(setting, value, name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise wrong(f"a number ({setting.unit})")
    if kind is int and value != int(value):
        raise wrong(f"a whole number ({setting.unit})")
    return kind(_in_bounds(setting, float(value), name))


def _allowed_word(setting: Setting, value: str, name: str) -> str:
    if setting.key == "currency" and not (len(value) == 3 and value.isascii() and value.isalpha()):
        raise BadSettings(
            f'{name}: currency is "{value}"; it must be a three-letter code such as "USD" or "EUR".'
        )
    if setting.key == "currency":
        return value.upper()
    if setting.bounds:
        for word in setting.bounds:
            if value.strip().lower() == str(word).lower():
                return str(word)
        choices = ", ".join(f'"{w}"' for w in setting.bounds)
        raise BadSettings(f'{name}: {setting.key} is "{value}"; it must be one of {choices}.')
    return value.strip()


def _in_bounds(setting: Setting, value: float, name: str, where: str = "") -> float:
    if setting.bounds is None:
        return value
    low, high = setting.bounds
    if not low <= value <= high:
        raise BadSettings(
            f"{name}: {setting.key}{where} is {value:g}; it must be from {low:g} to {high:g} ({setting.unit})."
        )
    return value


def _day(setting: Setting, value: Any, name: str) -> date:
    if isinstance(value, datetime):
        value = value.date()
    try:
        day = value if isinstance(value, date) else date.fromisoformat(str(value))
    except ValueError:
        raise BadSettings(
            f"{name}: {setting.key} is {str(value)[:40]!r}; write it as 2026-09-30."
        ) from None
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise BadSettings(
            f"{name}: {setting.key} is {day}; its year must be from {_FIRST_YEAR} to {_LAST_YEAR}."
        )
    return day


# No shop's day lies outside, and no date can be held beyond 2262.
_FIRST_YEAR, _LAST_YEAR = 1950, 2150


def _by_word(setting: Setting, value: Any, name: str) -> Mapping[str, float]:
    each = setting.unit.rsplit(" ", 1)[-1]
    if not isinstance(value, dict):
        raise BadSettings(f"{name}: {setting.key} needs one line per {each} under [{setting.key}].")
    made = {}
    for word, amount in value.items():
        if isinstance(amount, bool) or not isinstance(amount, int | float):
            raise BadSettings(
                f'{name}: {setting.key} of "{word}" is {amount!r}; it must be a number.'
            )
        made[word] = _in_bounds(setting, float(amount), name, f' of "{word}"')
    return MappingProxyType(made)


def _own_groups(setting: Setting, value: Any, name: str) -> Mapping[str, OwnGroups]:
    if not isinstance(value, dict):
        raise BadSettings(f"{name}: groups needs a part per grouping, such as [groups.coat].")
    made = {}
    for grouping, parts in value.items():
        where = f"{name}: [groups.{grouping}]"
        if not isinstance(parts, dict) or not isinstance(parts.get("column"), str):
            raise BadSettings(f'{where} needs a line that names its column: column = "finish".')
        rest = {part: words for part, words in parts.items() if part != "column"}
        if not rest:
            raise BadSettings(f'{where} has no groups; add lines like natural = ["oil", "wax"].')
        for part, words in rest.items():
            sound = isinstance(words, list) and words
            if not sound or not all(
                isinstance(w, str | int | float) and not isinstance(w, bool) for w in words
            ):
                raise BadSettings(f'{where} {part} needs a list, such as {part} = ["oil", "wax"].')
        made[str(grouping)] = OwnGroups(
            parts["column"], MappingProxyType({p: tuple(w) for p, w in rest.items()})
        )
    return MappingProxyType(made)


def _own_words(setting: Setting, value: Any, name: str) -> Mapping[str, Mapping[str, str]]:
    if not isinstance(value, dict):
        raise BadSettings(f"{name}: {setting.key} needs a part per column, such as [words.wood].")
    made = {}
    for column, pairs in value.items():
        if column not in WORD_COLUMNS:
            raise BadSettings(
                f"{name}: [words.{column}] names no column of words; use {', '.join(WORD_COLUMNS)}."
            )
        if not isinstance(pairs, dict) or not all(isinstance(v, str) for v in pairs.values()):
            raise BadSettings(f'{name}: [words.{column}] needs lines like buffet = "sideboard".')
        made[column] = MappingProxyType({k.strip().lower(): v.strip() for k, v in pairs.items()})
    return MappingProxyType(made)


_READERS: Mapping[str, Callable[[Setting, Any, str], Any]] = {
    "as_of": _day,
    "fee_share": _by_word,
    "flat_fee": _by_word,
    "drying_days": _by_word,
    "words": _own_words,
    "groups": _own_groups,
}
