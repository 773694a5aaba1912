"""Counted trials of what must not go wrong: each kind tries files that were harmed, and says what did not survive.

A file that was harmed goes through the command line's own path. What survives: no traceback; a refusal is one
sentence on stderr with exit code 2; every row that is still in the file is kept, set aside or named; every event used,
refused or undone; no amount infinite; nothing that a terminal would obey in what is printed; under two seconds of
processor time. Each goes through `check`; one in FURTHER of them is a whole shop that is priced, planned and reviewed
as well, with low <= mid <= high. `tests/test_faults.py` runs a few of each kind, `tests/bench_faults.py` as many as
are asked for.
"""

from __future__ import annotations

import contextlib
import csv
import io
import random
import re
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from fleetlib import cli, shop
from fleetlib.base.unseen import has_unseen, without_unseen
from fleetlib.records.folder import Records

DEMO = Path(__file__).resolve().parent.parent / "data_demo"
MOST_SECONDS = 2.0  # of processor time for one file
FURTHER = 250  # one file in so many goes through price, plan and review
SHOWN = 3  # so many failures of a kind are kept in words


@dataclass(eq=False)
class Tally:
    """How many trials of a kind were made and how many survived, with the first that did not."""

    kind: str
    tried: int = 0
    survived: int = 0
    failures: list[str] = field(default_factory=list)
    skipped: str = ""

    def add(self, failure: str) -> None:
        """Count one trial; `failure` is "" for one that survived."""
        self.tried += 1
        self.survived += not failure
        if failure and len(self.failures) < SHOWN:
            self.failures.append(failure)


@dataclass(frozen=True)
class Ran:
    """One command: its exit code, what it printed, the records it read, and a fault nobody caught."""

    code: int
    out: str
    err: str
    records: Records | None
    fault: str
    seconds: float


def command(*arguments: str) -> Ran:
    """Run a command of the kit in this process, as the command line does, with the records it read kept."""
    held: list[Records] = []
    real = shop.read_records

    def reading(*a: Any, **k: Any) -> Records:
        held.append(real(*a, **k))
        return held[-1]

    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="") for _ in range(2))
    code, fault, began = 1, "", time.process_time()
    shop.read_records = reading
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = cli.main(list(arguments))
    except SystemExit as ended:  # arguments that are no command
        code = int(ended.code or 0)
    except Exception as problem:  # what a person would see as a traceback
        at = problem.__traceback__
        while at is not None and at.tb_next is not None:
            at = at.tb_next
        where = f"{at.tb_frame.f_code.co_filename}:{at.tb_lineno}" if at else ""
        fault = f"{type(problem).__name__}: {problem} ({where})"
    finally:
        shop.read_records = real
    seconds = time.process_time() - began
    said = [s.buffer.getvalue().decode("utf-8") for s in (out, err) if not s.flush()]  # type: ignore[attr-defined]
    return Ran(code, said[0], said[1], held[-1] if held else None, fault, seconds)


def manners(ran: Ran) -> str:
    """What any command must keep to; "" where it did."""
    if ran.fault:
        return f"traceback: {ran.fault}"
    if ran.code not in (0, 2):
        return f"exit code {ran.code}"
    one = ran.err.startswith("fleetlib: ") and ran.err.count("\n") == 1
    if (ran.code == 2) != one or (ran.code == 0 and ran.err):
        return f"exit code {ran.code} with: {ran.err[:200]!r}"
    if has_unseen(ran.out.replace("\r", "")) or has_unseen(ran.err):
        return "a character that cannot be seen was printed"
    if ran.seconds > MOST_SECONDS:
        return f"{ran.seconds:.1f} s"
    return ""


# ---- harm ---------------------------------------------------------------------------------------------

HOSTILE = (
    '"', '""', ",", ";", "\t", "|", "\n", "\r", "\r\n", "\0", "\x1b[2J", "\x07", "\x9b", "\u202e", "\u200f",
    "\ufeff", "=1+1", "x;=1+1", "x\r=1+1", "@A1", "'", "9" * 400, "9" * 5000, "1e999", "-1", "inf", "nan", "1/0",
    "9/9/9", "9999-12-31", "0000-00-00", "3026-09-30", "31/02/2026", "½", "²", "😀", "ß", "İ", "a" * 5000,
    "(" * 300, "{{7*7}}", "<script>", "../../x", "%s%n", "$-0", "12 x 9999", "1,2,3", "1.234.567,8", "٣", "None",
    "true", "undo", "sold", "[", "]" * 50, "\\u001b", "'''", '"""', "#", "=", "1" + "0" * 30, "format 9",
)  # fmt: skip


def harmed(text: str, rng: random.Random) -> bytes:
    """`text` (a delimited file or settings) with one to four harms done to it, in one of many encodings."""
    for _ in range(rng.choice((1, 1, 2, 3, 4))):
        text = rng.choice(_HARMS)(text, rng)
    encoding = rng.choice(
        ("utf-8",) * 8 + ("utf-8-sig", "cp1252", "utf-16", "utf-16-le", "latin-1")
    )
    data = text.encode(encoding, "replace")
    if rng.random() < 0.15:
        data = _byte_harm(data, rng)
    return data


def _byte_harm(data: bytes, rng: random.Random) -> bytes:
    made = bytearray(data)
    for _ in range(rng.choice((1, 2, 8))):
        if made:
            made[rng.randrange(len(made))] = rng.randrange(256)
    return bytes(made)


def _put(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(HOSTILE) + text[at:]


def _cell(text: str, rng: random.Random) -> str:
    lines = text.split("\n")
    at = rng.randrange(len(lines))
    cells = lines[at].split(",")
    cells[rng.randrange(len(cells))] = rng.choice(HOSTILE)
    lines[at] = ",".join(cells)
    return "\n".join(lines)


def _cut(text: str, rng: random.Random) -> str:
    a = rng.randrange(len(text) + 1)
    return text[:a] + text[a + rng.choice((1, 3, 20, 200)) :]


def _torn(text: str, rng: random.Random) -> str:
    return text[: rng.randrange(len(text) + 1)]


def _twice(text: str, rng: random.Random) -> str:
    lines = text.split("\n")
    a = rng.randrange(len(lines))
    return "\n".join(lines[: a + 1] + lines[a : a + rng.choice((1, 2, 5))] + lines[a + 1 :])


def _ends(text: str, rng: random.Random) -> str:
    end = rng.choice(("\r", "\r\n", "\n\n"))
    return text.replace("\n", end, rng.choice((1, 3, -1)))


def _marks(text: str, rng: random.Random) -> str:
    return text.replace(",", rng.choice((";", "\t", "|", ";;")), rng.choice((4, -1)))


def _turned(text: str, rng: random.Random) -> str:
    if "\r" in text or '"' in text:
        return text  # cells are cut apart by hand here
    rows = [line.split(",") for line in text.split("\n")]
    order = list(range(len(rows[0])))
    rng.shuffle(order)
    return "\n".join(
        ",".join(r[i] for i in order) if len(r) == len(order) else ",".join(r) for r in rows
    )


def _heading(text: str, rng: random.Random) -> str:
    head, *rest = text.split("\n")
    cells = head.split(",")
    cells[rng.randrange(len(cells))] = rng.choice(
        ("", "type", "price", "sold", "note", "on", *cells)
    )
    return "\n".join([",".join(cells), *rest])


def _above(text: str, rng: random.Random) -> str:
    return rng.choice(("sep=;\n", "My flips 2026\n\n", ",,,\n", "\n\n\n", "\x0c\n")) + text


_HARMS: tuple[Callable[[str, random.Random], str], ...] = (
    _put, _put, _put, _cell, _cell, _cell, _cut, _torn, _twice, _ends, _marks, _turned, _heading, _above,
)  # fmt: skip


# ---- files --------------------------------------------------------------------------------------------

_TOKEN = re.compile(r"q\d{3}z")


@cache
def _demo() -> tuple[list[str], list[list[str]]]:
    """The demo's headings, and its rows."""
    with (DEMO / "flips.csv").open(encoding="utf-8", newline="") as stream:
        written = list(csv.reader(stream))
    first = max(range(6), key=lambda i: sum(map(bool, written[i])))  # below the demo's own title
    return written[first], [[c.replace("\n", " ") for c in row] for row in written[first + 1 :]]


_ALWAYS = ("Piece", "What", "Sold on", "Sold for")


def _flips_text(rng: random.Random, rows: int, more: int = 99) -> str:
    """Some rows of the demo under its name, kind, sale and `more` other headings, each with a word to find it by."""
    head, body = _demo()
    others = [i for i, h in enumerate(head) if h not in _ALWAYS]
    kept = set(rng.sample(others, min(more, len(others)))) | {head.index(h) for h in _ALWAYS}
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\n")
    lines.writerow([*(h for i, h in enumerate(head) if i in kept), "token"])
    for n, row in enumerate(rng.sample(body, rows)):
        lines.writerow([*(c for i, c in enumerate(row) if i in kept), f"q{n:03d}z"])
    return out.getvalue()


def _record(rng: random.Random, *, whole: bool) -> str:
    """A shop that can be priced; else a few rows, in one of four with every heading and in the others with some."""
    if whole:
        return _flips_text(rng, 18)
    return _flips_text(rng, rng.choice((3, 5, 8)), rng.choice((4, 6, 8, 99)))


def _whole(rng: random.Random) -> bool:
    return rng.randrange(FURTHER) == 0


def _events_text(rng: random.Random, names: list[str]) -> str:
    kinds = (
        "offer",
        "enquiry",
        "asking_price",
        "hours",
        "cost",
        "sold",
        "paused",
        "relisted",
        "undo",
        "finished",
    )
    lines = ["on,piece,event,amount,note"]
    for n in range(12):
        day = f"2026-0{rng.randrange(1, 10)}-{rng.randrange(1, 29):02d}"
        kind = rng.choice(kinds)
        amount = rng.choice(("120", "45.50", "3")) if kind not in ("undo", "finished") else ""
        lines.append(f"{day},{rng.choice(names)},{kind},{amount},q{n:03d}z")
    return "\n".join(lines) + "\n"


def _as_seen(records: Records) -> str:
    """Everything that reading made of a folder, as one text to look for words in."""
    frames = (
        records.flips,
        records.set_aside,
        records.changes,
        records.logged,
        records.other_set_aside,
    )
    parts = [str(v) for f in frames for c in f.columns if f[c].dtype.kind == "O" for v in f[c]]
    return "\n".join([*parts, *records.notes])


def _text_of(data: bytes) -> str:
    """The bytes as loosely as can be: only to ask which words are still in them."""
    for first, name in ((0, "utf-16-be"), (1, "utf-16-le")):
        if data[first::2].count(0) > len(data) / 4:  # a letter is two bytes, either may be harmed
            return without_unseen(data.decode(name, "replace"))
    return without_unseen(data.replace(b"\0", b"").decode("utf-8", "replace"))


def lost(data: bytes, records: Records) -> list[str]:
    """The rows' own words that are still in the file and in nothing that was made of it."""
    seen = _as_seen(records)
    return [t for t in dict.fromkeys(_TOKEN.findall(_text_of(data))) if t not in seen]


def _infinite(records: Records) -> str:
    for name, frame in (("flips", records.flips), ("events", records.logged)):
        numbers = frame.select_dtypes("float64")
        endless = np.isinf(numbers.to_numpy()).any(axis=0)
        if endless.any():
            return f"{name}.{numbers.columns[endless][0]} is infinite"
    return ""


def _checked(place: Path, *, whole: bool) -> tuple[str, Records | None]:
    """What went wrong in `check`, and for a whole shop in pricing, planning and reviewing; the records if read."""
    ran = command("check", str(place))
    if (wrong := manners(ran)) or ran.records is None or ran.code:
        return wrong, None
    return _infinite(ran.records) or (_answered(place) if whole else ""), ran.records


def _answered(place: Path) -> str:
    """Price, plan and review: what went wrong; "" where nothing did."""
    for asked in (("price",), ("review",)):
        ran = command(*asked, str(place))
        wrong = manners(ran)
        if wrong and not re.fullmatch(r"\d+\.\d s", wrong):  # fitting takes longer than reading
            return f"{asked[0]}: {wrong}"
        if re.search(_ENDLESS, ran.out):
            return f"{asked[0]}: an amount is infinite"
    if ran.records is None or ran.code:
        return ""
    opened = shop.Shop(ran.records)
    waiting = ran.records.flips["status"].isin(["listed", "in work"])
    for name in ran.records.flips.loc[waiting, "piece"].head(2):
        made = opened.estimate(str(name))
        three = (made.low, made.mid, made.high)
        if not (np.isfinite(three).all() and 0 <= made.low <= made.mid <= made.high):
            return f"{name}: {three}"
    return ""


# A heading harmed into "inf" is named as a column carried along; an amount of it has a sign or a unit.
_ENDLESS = r"[$€£]-?(?:inf|nan)\b|\b(?:inf|nan)(?:%| h\b)"


def flips_trial(place: Path, rng: random.Random) -> str:
    """A harmed flips.csv, read and reported; of a whole shop, priced too."""
    _clear(place)
    whole = _whole(rng)
    data = harmed(_record(rng, whole=whole), rng)
    (place / "flips.csv").write_bytes(data)
    wrong, records = _checked(place, whole=whole)
    if wrong or records is None:
        return wrong
    gone = lost(data, records)
    return f"rows lost: {gone[:3]}" if gone else ""


def events_trial(place: Path, rng: random.Random) -> str:
    """A harmed events.csv beside a good record."""
    _clear(place)
    whole = _whole(rng)
    flips = _record(rng, whole=whole)
    names = [row[0] for row in csv.reader(io.StringIO(flips))][1:]
    (place / "flips.csv").write_text(_TOKEN.sub("", flips), encoding="utf-8")
    data = harmed(_events_text(rng, names), rng)
    (place / "events.csv").write_bytes(data)
    wrong, records = _checked(place, whole=whole)
    if wrong or records is None:
        return wrong
    undone = len(re.findall(r"undo", _text_of(data), re.IGNORECASE))
    gone = lost(data, records)
    said = any("was not read" in note for note in records.notes)  # a column that is none of ours
    if len(gone) > 2 * undone and not said:  # the undo itself, and what it took back
        return f"events lost: {gone[:3]}"
    return ""


_SETTINGS = (
    'currency = "USD"\nlength_unit = "in"\ndate_order = "month first"\ntarget_hourly_pay = 25\n'
    'markdown_weekday = "Friday"\nweeks_between_markdowns = 2\nmost_markdowns = 3\nprice_step = 5\nprice_ending = 0\n'
    'horizon_weeks = 20\nsalvage_share = 0.35\nusual_channel = "stall"\nplaces = 12\nas_of = 2026-09-30\n'
    '[fee_share]\nstall = 0.1\n[words.furniture_type]\nbuffet = "sideboard"\n[groups.coat]\ncolumn = "finish"\n'
    'natural = ["oil", "wax"]\n'
)


_VALUES = ("[1]", "{}", "inf", "-inf", "nan", "12:00:00", "3026-09-30", "1e400", "true", '"x"')


def settings_trial(place: Path, rng: random.Random) -> str:
    """Harmed settings beside a good record."""
    _clear(place)
    whole = _whole(rng)
    (place / "flips.csv").write_text(_record(rng, whole=whole), encoding="utf-8")
    text = _SETTINGS
    if rng.random() < 0.5:
        lines = text.split("\n")
        at = rng.randrange(len(lines))
        lines[at] = f"{lines[at].split('=')[0]}= {rng.choice((*HOSTILE, *_VALUES))}"
        text = "\n".join(lines)
    data = harmed(text, rng) if rng.random() < 0.7 else text.encode()
    (place / "settings.toml").write_bytes(data)
    return _checked(place, whole=whole)[0]


_ANSWERS = (
    "on,about,text,meaning\n2026-09-01,kind,buffet,sideboard\n2026-09-01,date order,,month first\n"
    "2026-09-02,cell,A-101: sale price: 120/140,120\n2026-09-02,wood,mystery,oak\n2026-09-02,currency,,USD\n"
    "2026-09-03,heading,Sold for,sale price\n2026-09-03,heading,Shelf,nothing\n2026-09-03,sheet,2025,read\n"
)


def answers_trial(place: Path, rng: random.Random) -> str:
    """A harmed answers.csv beside a good record, read, and in one of ten written out again."""
    _clear(place)
    whole = _whole(rng)
    (place / "flips.csv").write_text(_record(rng, whole=whole), encoding="utf-8")
    (place / "answers.csv").write_bytes(harmed(_ANSWERS, rng))
    wrong, records = _checked(place, whole=whole)
    if wrong or records is None or rng.random() > 0.1:
        return wrong
    with tempfile.TemporaryDirectory() as out:
        return manners(command("export", str(place), "--to", out))


def workbook_trial(place: Path, rng: random.Random) -> str:
    """A flips.xlsx whose cells hold anything, or whose bytes were harmed."""
    import openpyxl

    _clear(place)
    whole = _whole(rng)
    rows = list(csv.reader(io.StringIO(_record(rng, whole=whole))))
    for _ in range(rng.choice((0, 1, 3))):
        row = rng.choice(rows)
        row[rng.randrange(len(row))] = rng.choice(HOSTILE)
    book = openpyxl.Workbook()
    sheet = book.active
    for i, row in enumerate(rows, 1):
        for j, cell in enumerate(row, 1):
            with contextlib.suppress(openpyxl.utils.exceptions.IllegalCharacterError):
                value: Any = float(cell) if i > 1 and re.fullmatch(r"\d{1,6}", cell) else cell
                sheet.cell(i, j, value)
    out = io.BytesIO()
    book.save(out)
    data = out.getvalue()
    harm_bytes = rng.random() < 0.5
    (place / "flips.xlsx").write_bytes(_byte_harm(data, rng) if harm_bytes else data)
    wrong, records = _checked(place, whole=whole)
    if wrong or records is None or harm_bytes:
        return wrong
    seen = _as_seen(records)
    gone = [c for row in rows for c in row if _TOKEN.fullmatch(c) and c not in seen]
    return f"rows lost: {gone[:3]}" if gone else ""


class Finds:
    """Harmed finds, weighed by `buy` in a shop whose models were fitted once."""

    def __init__(self) -> None:
        self._shop: shop.Shop | None = None

    def __call__(self, place: Path, rng: random.Random) -> str:
        """One harmed finds.csv."""
        _clear(place)
        if self._shop is None:
            text = _flips_text(random.Random(1), 30)
            (place / "flips.csv").write_text(text, encoding="utf-8")
            self._shop = shop.open_shop(place)
            _ = self._shop.fits
        head, *finds = _FINDS
        text = "\n".join([head, *finds[: rng.choice((1, 1, 2))]]) + "\n"
        path = place / "week.csv"
        path.write_bytes(harmed(text, rng))
        real, shop.open_shop = shop.open_shop, lambda *_, **__: self._shop
        try:
            ran = command("buy", str(place), "--finds", str(path))
        finally:
            shop.open_shop = real
        wrong = manners(ran)
        return wrong or ("an amount is infinite" if re.search(_ENDLESS, ran.out) else "")


_FINDS = (
    "furniture_type,wood,finish,width_in,depth_in,height_in,buy_price,notes",
    "dresser,oak,oil,52,18,32,90,q000z",
    "desk,pine,paint,40,20,30,35,q001z",
)


def prices_trial(place: Path, rng: random.Random) -> str:
    """A harmed record of a whole shop, priced, planned and reviewed: low <= mid <= high, nothing infinite."""
    _clear(place)
    (place / "flips.csv").write_bytes(harmed(_record(rng, whole=True), rng))
    return _answered(place)


def _clear(place: Path) -> None:
    for path in place.iterdir():
        if path.is_file() and not path.name.startswith(".fleetlib"):
            path.unlink()
    (place / "settings.toml").write_text("as_of = 2026-09-30\n")


HARMED: dict[str, Callable[[Path, random.Random], str]] = {
    "flips": flips_trial,
    "events": events_trial,
    "settings": settings_trial,
    "answers": answers_trial,
    "workbooks": workbook_trial,
    "finds": Finds(),
    "prices": prices_trial,
}


def harm(kind: str, count: int, place: Path, *, seed: int = 0, until: float = 1e18) -> Tally:
    """`count` trials of a kind of harmed file, or fewer where the clock (time.monotonic) reaches `until`."""
    made = Tally(kind)
    for n in range(seed, seed + count):
        if time.monotonic() > until:
            break
        failure = HARMED[kind](place, random.Random(f"{kind} {n}"))
        made.add(f"seed {n}: {failure}" if failure else "")
    return made


if __name__ == "__main__":
    sys.exit("Run python -m tests.bench_faults.")
