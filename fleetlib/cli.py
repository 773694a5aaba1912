"""The command line: one short command for each question, on a folder of records."""

from __future__ import annotations

import argparse
import contextlib
import errno
import gc
import os
import sys
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from fleetlib.base.errors import BadQuestion, FleetError, MissingRecords
from fleetlib.base.opening import is_there, why
from fleetlib.base.progress import counted, telling
from fleetlib.base.unseen import named, without_unseen
from fleetlib.week.which_command import others_answer, quoted

if TYPE_CHECKING:
    from fleetlib.records.folder import Records
    from fleetlib.records.log.grammar import Entry, Supply
    from fleetlib.records.piece import Piece
    from fleetlib.shop import Shop
    from fleetlib.week.advice import Advice

# How much more must be made before Python looks for what nothing leads to any more; a command ends soon.
_SELDOM = (50_000, 20, 20)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status: 0 done, 2 the input needs mending."""
    _suit_the_terminal()
    gc.set_threshold(*_SELDOM)
    try:
        _refuse_unseen(sys.argv[1:] if arguments is None else arguments)
        status = _answered(arguments)
        if sys.stdout is not None:
            sys.stdout.flush()  # here, where a full disk can still be said
    except FleetError as refusal:
        return _stopped(str(refusal))
    except BrokenPipeError:  # the reader of the output has gone, as with `| head`
        _to_nobody()
        return 0
    except KeyboardInterrupt:
        return _stopped("stopped.", 130)
    except OSError as problem:
        return _stopped(_of_the_system(problem))
    except (MemoryError, RecursionError):
        return _stopped("There is more in these records than this machine has room for.")
    return status


def _answered(arguments: Sequence[str] | None) -> int:
    """Read the arguments and run the command they name; the exit status."""
    parser = _parser()
    chosen = parser.parse_args(arguments)
    if chosen.version:
        say(_version())
        return 0
    if "answer" not in chosen:
        parser.print_help()
        return 2
    _fit_the_width()
    answer: Callable[[argparse.Namespace], None] = chosen.answer
    with telling(_Progress()):
        answer(chosen)
    return 0


def _refuse_unseen(arguments: Sequence[str]) -> None:
    """Refuse an argument with control characters or direction marks: nobody types one on purpose."""
    for argument in arguments:
        text = argument.encode("utf-8", "replace").decode("utf-8")
        if bad := named(text):
            raise BadQuestion(
                f'"{without_unseen(text)}" holds a character that cannot be seen ({bad}). Type it again.'
            )


def _stopped(sentence: str, status: int = 2) -> int:
    """Say in one sentence why there is no answer; the exit status."""
    try:
        say(f"fleetlib: {sentence}", to=sys.stderr)
    except OSError:
        _to_nobody()
    return status


def _of_the_system(problem: OSError) -> str:
    """What the system refused, as a sentence."""
    if problem.filename is None and problem.errno in (errno.ENOSPC, errno.EIO, errno.EBADF):
        _to_nobody()
        return f"The answer could not be written out: {why(problem)}."
    try:
        Path.cwd()
    except OSError:
        return "The folder you are working in is no longer there. Go to another one and try again."
    return f"{problem.filename or 'The system'} cannot be used: {why(problem)}."


def _to_nobody() -> None:
    """Throw away the output that cannot be written, which Python would else complain of as it ends."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        out = sys.stdout.fileno()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, out)
        os.close(nowhere)


def say(text: object = "", *, to: TextIO | None = None, now: bool = False) -> None:
    """Print `text` with control characters, direction marks and broken characters taken out."""
    print(without_unseen(str(text)), file=to, flush=now)


def tell(text: str) -> None:
    """Print text, broken between words at the terminal's width; an indented line, to be copied, stays whole."""
    if _letters:
        from textwrap import fill

        text = "\n".join(
            line
            if line.startswith(" ")
            else fill(line, _letters, break_long_words=False, break_on_hyphens=False)
            for line in text.split("\n")
        )
    say(text)


_letters = 0  # of the terminal's width; 0 where the output goes elsewhere


def _suit_the_terminal() -> None:
    """A letter that this terminal cannot show becomes a question mark instead of ending the answer."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _fit_the_width() -> None:
    """Answers use the width of the terminal; written to a file or handed on, they are 80 wide."""
    global _letters
    _letters = 0
    if sys.stdout is not None and sys.stdout.isatty():
        from shutil import get_terminal_size

        from fleetlib.shown.html_blocks import use_width

        _letters = use_width(get_terminal_size().columns)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="fleetlib",
        description="Asking prices, markdown plans and pay per hour, from your own past sales.",
        epilog="FOLDER holds your flips.csv or flips.xlsx. Left out, it is this folder, else the invented demo shop. "
        "Exit status: 0 done; 2 something must be mended, and the one sentence printed says what; 130 stopped by you.",
    )
    parser.add_argument("--version", action="store_true", help="say which fleetlib this is")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def command(
        name: str, answer: Callable[[argparse.Namespace], None], about: str
    ) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=about)
        made.set_defaults(answer=answer)
        return made

    def takes(
        made: argparse.ArgumentParser, name: str, metavar: str, about: str, **more: Any
    ) -> None:
        made.add_argument(name, metavar=metavar, help=about, **more)

    def reads(
        made: argparse.ArgumentParser, about: str = "the folder that holds your records"
    ) -> None:
        takes(made, "folder", "FOLDER", about, nargs="?")

    def is_in(made: argparse.ArgumentParser, about: str = "the shop folder") -> None:
        takes(made, "--in", "FOLDER", about, dest="folder")

    one = command(
        "start", _start, "Make a new shop folder: a blank record sheet, settings, notebooks."
    )
    one.add_argument("folder", metavar="FOLDER")
    one.add_argument("--demo", action="store_true", help="fill it with the invented demo shop")
    takes(one, "--from", "ZIP", "lay down the shop of a backup", dest="archive")
    newer = "lay newer notebooks beside those of a shop, and its file to double-click anew"
    one.add_argument("--notebooks", action="store_true", help=newer)

    one = command(
        "backup", _backup, "Write one dated zip of a shop folder, checked by reading it back."
    )
    reads(one)
    takes(one, "--to", "PLACE", "where the zip goes; left out, beside the folder")

    one = command(
        "help", _help, "Explain a word that fleetlib uses, such as: fleetlib help lowest offer"
    )
    takes(one, "word", "WORD", "left out, every word", nargs="*")

    one = command(
        "method", _method, "How it all works, with the equations: one page for a statistician."
    )
    takes(one, "--save", "FILE", "also write it as a page, such as method.html")

    about = "Say what was read from your records, what was changed and what was set aside."
    one = command("check", _check, about)
    reads(one)
    about = (
        'answer its questions by number and letter, as 3b or "1a 2c"; 3=WORDS for words of your own; "Stock=type" '
        "for a heading of yours"
    )
    takes(one, "--answer", "CODES", about, dest="codes", action="append")
    takes(one, "--save", "DIR", "also write the lists as CSV files into DIR")

    one = command("today", _today, "What is due today: markdowns, offers, work, missing entries.")
    takes(one, "--save", "DIR", "also write today.html and shop.ics into DIR")
    reads(one)

    one = command(
        "price", _price, "Asking price, range and markdown plan for what you have on hand."
    )
    reads(one)
    takes(one, "--piece", "P", "one piece by its name, in full")
    takes(one, "--save", "DIR", "write the advice page and calendar into DIR and log the advice")

    by = {"default": "furniture_type"}
    one = command("earnings", _earnings, "What each kind of piece earns per hour of your hands.")
    reads(one)
    takes(one, "--by", "COLUMNS", "one or more columns, as type,finish", **by)
    takes(one, "--since", "DATE", "count only from this day on, as 2026-01-31")

    about = "How long pieces take, how full the room is, what a place in it earns."
    one = command("days", _days, about)
    reads(one)
    takes(one, "--save", "FILE", "also write it as a page, such as days.html")
    takes(one, "--by", "COLUMNS", "one or more columns, as type,finish", **by)

    one = command("buy", _buy, "What to pay for a find, or the best set of this week's finds.")
    reads(one)
    takes(one, "--finds", "FILE", "a CSV of what is on offer, one row a find")
    takes(one, "--cash", "MONEY", "the most to spend")
    takes(one, "--hours", "HOURS", "the most hands-on hours to take on")

    about = "The words and the photographs of a listing, ready to paste."
    one = command("listing", _listing, about)
    takes(one, "piece", "P", "the piece by its name")
    is_in(one, "the folder that holds your records")
    for option, about in (
        ("repaired", "what was done to it"),
        ("flaws", "what is not perfect"),
        ("delivery", "whether and how far you deliver"),
    ):
        takes(one, f"--{option}", "WORDS", f"{about}, in your words", default="")
    takes(one, "--save", "FILE", "also write it as a page, such as listing-A-113.html")

    one = command("review", _review, "The books and the lessons of one quarter.")
    reads(one)
    takes(one, "--quarter", "QUARTER", "as 2026-Q3; left out, the last one in which something sold")
    takes(one, "--by", "COLUMN", "sort pay and prices by it; left out, by type", default="type")
    takes(one, "--save", "FILE", "write the review as a page to print or read in a browser")

    about = 'Log one line, as: fleetlib log "sold A-113 for 420 at the market yesterday".'
    one = command("log", _log, about)
    takes(one, "line", "LINE", "left out: the lines of inbox.txt", nargs="*")
    one.add_argument("--yes", action="store_true", help="write it without asking")
    is_in(one)

    one = command("piece", _piece, "Everything known of one piece, in the order of the days.")
    one.add_argument("name", metavar="NAME")
    is_in(one)

    about = "Price what every shop in a folder of shops has on hand, several at once."
    one = command("shops", _shops, about)
    takes(one, "parent", "PARENT", "where the shops' own folders lie")
    takes(one, "--save", "DIR", "write every piece into DIR as shops.csv")

    one = command("export", _export, "Everything out again: one workbook, and the same as CSV.")
    reads(one, "the shop folder")
    takes(one, "--to", "PLACE", "a new or empty folder", required=True)

    one = command("lab", _lab, "Open the weekly page in your browser, its forms ready to use.")
    files = "open your own folder's notebooks with a file list"
    one.add_argument("--files", action="store_true", help=files)
    quiet = "only print the address, open nothing"
    one.add_argument("--no-browser", action="store_true", help=quiet)
    reads(one)
    return parser


def _folder(chosen: argparse.Namespace) -> Path:
    from fleetlib.base.kit import is_kit_demo, usual_folder

    if chosen.folder:
        return Path(chosen.folder)
    found = usual_folder()
    if found != Path.cwd() and is_kit_demo(found):
        from fleetlib.records.folder import other_record

        if other := other_record(Path()):
            raise MissingRecords(
                f"No folder was named and this one holds no flips.csv. {other}\n"
                f"The invented demo shop is laid elsewhere by: {_as_typed()} start demo-shop --demo"
            )
        say(
            "No folder was named and this one holds no flips.csv: this is the invented demo shop.\n"
        )
    return found


def _shop(chosen: argparse.Namespace) -> Shop:
    from fleetlib.shop import open_shop

    return open_shop(_folder(chosen))


def _working(what: str) -> None:
    """Tell someone at a terminal that it has not hung; nothing when the output goes to a file."""
    if sys.stderr is not None and sys.stderr.isatty():
        say(f"{what} ...", to=sys.stderr, now=True)


class _Progress:
    """Tells someone at a terminal how far long work has come, a line every few seconds."""

    every = 3.0  # seconds

    def __init__(self) -> None:
        self.told_at = time.monotonic()

    def __call__(self, what: str, done: int, of: int) -> None:
        now = time.monotonic()
        if now - self.told_at >= self.every:
            self.told_at = now
            _working(f"{done} of {of} {what}")


def _start(chosen: argparse.Namespace) -> None:
    if chosen.archive:
        from fleetlib.desk.backup import restore_shop

        laid = restore_shop(chosen.archive, chosen.folder)
        held = f"{Path(chosen.archive).name}, {len(laid)} files, is laid down in {chosen.folder}."
        tell(f'{held} To open the weekly page, double-click "{laid[-1].name}".')
        return
    if chosen.notebooks:
        from fleetlib.desk.start import newer_notebooks

        *laid_beside, launch = newer_notebooks(chosen.folder)
        tell(
            f"Laid into {chosen.folder}: {', '.join(p.name for p in laid_beside)}."
            if laid_beside
            else "Your notebooks are those of this fleetlib."
        )
        tell(f'To open the weekly page, double-click "{launch.name}".')
        return
    from fleetlib.desk.start import start_shop
    from fleetlib.records.folder import other_record

    written = start_shop(chosen.folder, demo=chosen.demo)
    names = ", ".join(path.name for path in written[:3])
    more = f" and {len(written) - 3} more files" if len(written) > 3 else ""
    tell(f"{chosen.folder} is ready: {names}{more}.")
    if chosen.demo:
        tell("It holds the invented demo shop.")
    else:
        blank = any(path.name == "flips.xlsx" for path in written)
        tell(
            "Fill in flips.xlsx, one row a piece, or put your own spreadsheet in its place; then see how it was read:"
            if blank
            else "The record that lay there is left as it is. See how it is read:"
        )
        say(f"  {_as_typed()} check {quoted(chosen.folder)}")
        if blank and (other := other_record(Path(chosen.folder))):
            tell(other)
    tell(
        f'The weekly page opens by a double click on "{written[-1].name}", or with:\n  '
        f"{_as_typed()} lab {quoted(chosen.folder)}"
    )


def _version() -> str:
    from importlib.metadata import version

    here = Path(__file__).resolve().parent
    return f"fleetlib {version('fleetlib')}, Python {sys.version.split()[0]}, in {here}"


def _backup(chosen: argparse.Namespace) -> None:
    from fleetlib.desk.backup import KEPT, backup_shop

    written = backup_shop(chosen.folder or Path.cwd(), to=chosen.to)
    say(f"Written and read back whole: {written}")
    tell(
        f"The newest {KEPT} stay there. To lay one down: {_as_typed()} start NEW-FOLDER --from {quoted(written)}"
    )


def _help(chosen: argparse.Namespace) -> None:
    from fleetlib.base.words import WORDS, meaning_of

    asked = " ".join(chosen.word)
    tell(meaning_of(asked) if asked else "\n".join(f"{w}: {m}" for w, m in WORDS.items()))


def _method(chosen: argparse.Namespace) -> None:
    from fleetlib.desk.method import method

    _say_and_save(method(), chosen.save)


def _as_typed() -> str:
    """How this person starts fleetlib: through uv where uv runs it."""
    if "UV" not in os.environ:
        return "fleetlib"
    return (
        "py -m uv run --no-dev fleetlib"
        if os.name == "nt"
        else "python3 -m uv run --no-dev fleetlib"
    )


def _check(chosen: argparse.Namespace) -> None:
    from fleetlib.records.report import check_report, save_check

    if chosen.codes:
        from fleetlib.desk.answering import answer_check

        tell("\n".join(answer_check(_folder(chosen), chosen.codes)) + "\n")
    shop = _shop(chosen)
    written = save_check(shop.records, chosen.save) if chosen.save else []
    say(check_report(shop.records))
    _say_written(written)


def _price(chosen: argparse.Namespace) -> None:
    shop = _shop(chosen)
    _working("Learning from your past sales")
    if chosen.piece:
        one = shop.advise(shop.piece(chosen.piece))
        written = _save_advice(shop, [one.piece], chosen.save)
        say(one)
        _say_since_saved(shop, one)
        tell(f"\n{others_answer('price', str(one.piece.piece))}")
    else:
        all_of_it = shop.advise_all()
        names: list[str] = list(all_of_it.table["piece"]) if chosen.save else []
        written = _save_advice(shop, names, chosen.save)
        if chosen.save:
            from fleetlib.desk.pages import save_today

            written += save_today(shop.fits, chosen.save)  # the index: a card a piece, with links
        say(all_of_it)
    _say_written(list(dict.fromkeys(written)))
    if written and all(path.name != "advice_log.csv" for path in written):
        tell("Not logged for later grading: the demo that came with fleetlib is never written to.")


def _save_advice(shop: Shop, pieces: Sequence[Piece | str], place: str | None) -> list[Path]:
    """Write the pages of each piece's advice into `place` and log it, one after the other; nothing without a place."""
    from fleetlib.desk.pages import save_advice

    if place is None:
        return []
    _working(f"Writing the pages of {len(pieces)} pieces")
    written: list[Path] = []
    for piece in counted("pieces written", pieces):
        advice = shop.advise(piece)
        written += save_advice(advice, place)
        logged = shop.log_advice(advice)
        written += [] if logged is None else [logged]
    return list(dict.fromkeys(written))


def _say_since_saved(shop: Shop, advice: Advice) -> None:
    """How the advice differs from what was saved before, by the log as it was read."""
    from fleetlib.week.since_saved import since_saved

    if len(advice.table):
        ask = float(advice.table["asking_price"].iloc[0])
        said = since_saved(shop.records, str(advice.piece.piece), asking_price=ask)
        if said:
            tell(f"\n{said}")


def _say_and_save(made: object, to: str | None) -> None:
    """Say an answer, and write it as a page where a file is named for it."""
    written: list[Path] = []
    if to:
        from fleetlib.desk.pages import save_page

        written.append(save_page(made, to))
    say(made)
    _say_written(written)


def _say_written(paths: Sequence[Path]) -> None:
    if paths:
        say("\nWritten:\n" + "\n".join(f"  {path}" for path in paths))


def _log(chosen: argparse.Namespace) -> None:
    from fleetlib.desk.logging_lines import inbox, today_of, understood

    records = _shop(chosen).records
    if chosen.line:
        _log_one(
            chosen, records, understood(records, " ".join(chosen.line), today=today_of(records))
        )
        return
    lines, done = inbox(records), 0
    if not lines:
        tell("There is nothing to log: no line was given, and inbox.txt holds no new one.")
    while lines:
        line, done = lines[0], lines[0].line
        if line.entry is None:
            tell(f"inbox.txt line {line.line}: {line.text}\nnot logged: {line.why}")
        elif _log_one(chosen, records, line.entry):
            records = _shop(
                chosen
            ).records  # what was just logged may be what the next line is about
        lines = inbox(records, after=done)


def _log_one(chosen: argparse.Namespace, records: Records, entry: Entry | Supply) -> bool:
    """Say the entry as understood and write it once agreed to; True where it was written."""
    from fleetlib.desk.logging_lines import log_entry

    tell(entry.said(records.settings.currency))
    if not (chosen.yes or _agreed()):
        say("Nothing was written.")
        return False
    path, piece = log_entry(records, entry), getattr(entry, "piece", "")
    told = f" What happened to it: fleetlib piece {quoted(piece)}" if piece else ""
    tell(f"Logged in {path.name}.{told}")
    return True


def _agreed() -> bool:
    """True where the person says yes; someone who cannot be asked has not agreed."""
    try:
        return input("Write this? [y/n] ").strip().casefold() in ("y", "yes")
    except (EOFError, RuntimeError, UnicodeDecodeError):  # RuntimeError: there is no input at all
        tell("Say --yes to write it without being asked.")
        return False


def _piece(chosen: argparse.Namespace) -> None:
    from fleetlib.week.piece import story

    say(story(_shop(chosen).records, chosen.name))


def _export(chosen: argparse.Namespace) -> None:
    from fleetlib.desk.export import export

    _say_written(export(_shop(chosen).records, chosen.to))


def _earnings(chosen: argparse.Namespace) -> None:
    shop = _shop(chosen)
    _working("Adding up the hours")
    say(shop.earnings(_columns(chosen.by, shop), start=_day(chosen.since)))


def _shops(chosen: argparse.Namespace) -> None:
    from fleetlib.desk.many_shops import price_shops, save_shops, shop_folders

    made = price_shops(
        shop_folders(chosen.parent), told=lambda done, of: _working(f"{done} of {of} shops priced")
    )
    written = save_shops(made, chosen.save) if chosen.save else []
    say(made)
    _say_written(written)


def _days(chosen: argparse.Namespace) -> None:
    shop = _shop(chosen)
    _working("Adding up the days")
    _say_and_save(shop.days_and_space(_columns(chosen.by, shop)), chosen.save)


def _buy(chosen: argparse.Namespace) -> None:
    folder = _folder(chosen)
    named = Path(chosen.finds or "finds.csv")
    places = [folder / named] if not chosen.finds else [named, folder / named]
    finds = next((place for place in places if is_there(place, refusal=BadQuestion)), None)
    if finds is None:
        looked = " and no ".join(str(place) for place in dict.fromkeys(places))
        raise BadQuestion(
            f"There is no {looked}. Write a CSV with one row a find (furniture_type, wood, finish, sizes, buy_price) "
            "and name it with --finds."
        )
    from fleetlib.shop import open_shop

    shop = open_shop(folder)
    _working("Pricing the finds")
    cash, hours = (
        _amount("cash", chosen.cash, shop.settings.currency),
        _amount("hours", chosen.hours, ""),
    )
    say(shop.best_buys(finds, cash=cash, hours=hours))


def _today(chosen: argparse.Namespace) -> None:
    from fleetlib.week.today import today

    shop = _shop(chosen)
    _working("Planning what is on hand")
    made = today(shop.fits, **_backups(shop.records.folder))
    written: Sequence[Path] = ()
    if chosen.save:
        from fleetlib.desk.pages import save_today

        written = save_today(shop.fits, chosen.save, made=made)
    say(made)
    tell(f"\n{others_answer('today')}")
    _say_written(written)


def _backups(folder: Path) -> dict[str, Any]:
    """Whether to remind of a backup, and the day of the last one; the demo needs none."""
    from fleetlib.base.kit import is_kit_demo
    from fleetlib.desk.backup import last_backup

    return (
        {} if is_kit_demo(folder) else {"last_backup": last_backup(folder), "backups_wanted": True}
    )


def _listing(chosen: argparse.Namespace) -> None:
    from fleetlib.week.listing_text import listing_text

    shop = _shop(chosen)
    piece = shop.piece(chosen.piece)
    made = listing_text(
        piece,
        repaired=chosen.repaired,
        flaws=chosen.flaws,
        delivery=chosen.delivery,
        asking_price=piece.last_asking_price or piece.asking_price,
        settings=shop.settings,
    )
    _say_and_save(made, chosen.save)


def _review(chosen: argparse.Namespace) -> None:
    shop = _shop(chosen)
    _working("Going through the quarter")
    by, *more = _columns(chosen.by, shop) or ["furniture_type"]
    if more:
        raise BadQuestion("A review is sorted by one column. Name one: --by finish")
    _say_and_save(shop.review(chosen.quarter or "", by=by), chosen.save)


def _lab(chosen: argparse.Namespace) -> None:
    from fleetlib.desk.lab import open_page

    folder = _folder(chosen)
    say("Opening the weekly page: a few seconds ...", now=True)
    opened = open_page(folder, files=chosen.files, show=partial(_show, chosen.no_browser))
    if opened.complaint:
        tell(f"The page says: {opened.complaint}")
    if opened.joined:
        tell("It was open already; it is the same page, with what you logged.")
        return
    say("It is open in your browser. To stop, press Ctrl+C here or close this window.", now=True)
    say(f"The server's own messages: {opened.log}", now=True)
    opened.wait()


def _show(no_browser: bool, address: str) -> None:
    import webbrowser

    if no_browser:
        say(f"Open this address in your browser:\n  {address}", now=True)
    elif not webbrowser.open(address):
        tell(f"No browser could be opened. Type in this address:\n  {address}")


def _amount(name: str, text: str | None, currency: str) -> float | None:
    """An amount of money (with a currency) or of hours, typed as in the records."""
    from fleetlib.records.parsing.amounts import read_hours, read_money

    if text is None:
        return None
    cell = read_money([text], currency=currency)[0] if currency else read_hours([text])[0]
    if cell.refused or not isinstance(cell.value, float | int) or cell.value < 0:
        raise BadQuestion(
            f'{name} is "{text}"; write one amount, such as {100 if currency else 25}.'
        )
    return float(cell.value)


def _columns(text: str, shop: Shop) -> list[str]:
    """The columns and own groups that `text` names; a column also goes by the headings people give it (`type`)."""
    from fleetlib.records.schema.columns import COLUMNS

    meant = {
        heading: c.name
        for c in COLUMNS
        for heading in (*c.headings, c.name, c.name.replace("_", " "))
    }
    names = [part.strip() for part in text.split(",") if part.strip()]
    own = shop.settings.groups
    return [name if name in own else meant.get(name.casefold(), name) for name in names]


def _day(text: str | None):  # type: ignore[no-untyped-def]
    from datetime import date

    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadQuestion(f'"{text}" is not a day. Write it as 2026-01-31.') from None
