"""Do the tests bite? Change one number, comparison or sign at a time and see whether a test beside it notices.

    python -m tests.mutate --count 60 --seed 1            # all rooms, about two hours on one core
    python -m tests.mutate --count 5 --rooms plan pay     # a quick look

A copy of the project is changed, never the project itself. Beside a module of room `plan` stand the tests in
`tests/plan`; those of other rooms and the README's printed output do not count. What survived is printed with its
line, to be given a test or an argument; the table is written with --store.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import astuple, dataclass
from itertools import product
from pathlib import Path
from typing import NoReturn

import matplotlib.pyplot as plt  # noqa: F401  # loaded once, for every fork
import pandas as pd
import pytest
import scipy.optimize
import scipy.stats  # noqa: F401

ROOT = Path(__file__).parents[1]
ROOMS = ("price", "selling", "plan", "pay", "buying", "quarter")
TURNED: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
}  # fmt: skip
RINGS = ("cases by hand", "tests named after it", "tests that name it", "other tests of its room")
QUICK = "not slow and not browser"
SIGNS: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one place: characters start to end of line `line` of `path` become `new`."""

    path: str
    line: int
    start: int
    end: int
    old: str
    new: str


def places(path: Path) -> list[Change]:
    """Every number, comparison and sign of a module that lies on one line, docstrings and annotations left out."""
    text = path.read_text(encoding="utf-8")
    lines = text.split("\n")
    where = str(path.relative_to(ROOT))
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            value = node.value
            new = repr(value + 1 if isinstance(value, int) else round(value * 1.15 + 0.01, 6))
            found.append((node.lineno, node.col_offset, node.end_col_offset or 0, new))
        if isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in TURNED:
            found += _between(lines, node.left, node.comparators[0], TURNED[type(node.ops[0])])
        if isinstance(node, ast.BinOp) and type(node.op) in SIGNS:
            found += _between(lines, node.left, node.right, SIGNS[type(node.op)][1])
    return [
        Change(where, line, start, end, lines[line - 1][start:end], new)
        for line, start, end, new in found
        if lines[line - 1].isascii()
    ]


def _between(
    lines: Sequence[str], left: ast.expr, right: ast.expr, new: str
) -> list[tuple[int, int, int, str]]:
    """The operator between two operands on one line, brackets and spaces left as they are."""
    if left.end_lineno != right.lineno:
        return []
    gap = lines[right.lineno - 1][left.end_col_offset or 0 : right.col_offset]
    sign = gap.strip(" ()")
    if not sign or any(c in sign for c in "#,"):
        return []
    start = (left.end_col_offset or 0) + gap.index(sign)
    return [(right.lineno, start, start + len(sign), new)]


def caught(change: Change, copy: Path, ring: int, mark: str) -> str:
    """The first test of `mark` in the changed module's room that fails, "" for none; of the files in `ring` only."""
    target = copy / change.path
    before = target.read_text(encoding="utf-8")
    lines = before.split("\n")
    row = lines[change.line - 1]
    lines[change.line - 1] = row[: change.start] + change.new + row[change.end :]
    dotted = change.path.removesuffix(".py").replace("/", ".")
    rings: list[list[str]] = [[], [], [], []]
    for path in sorted((copy / "tests" / change.path.split("/")[1]).rglob("test_*.py")):
        named = path.stem.startswith(f"test_{target.stem}")
        naming = dotted in path.read_text(encoding="utf-8")
        near = 0 if path.stem == "test_by_hand" else 1 if named else 2 if naming else 3
        rings[near].append(str(path))
    target.write_text("\n".join(lines), encoding="utf-8")
    try:
        return _fails(copy, mark, rings[ring]) if rings[ring] else ""
    finally:
        target.write_text(before, encoding="utf-8")


def _fails(copy: Path, mark: str, tests: Sequence[str]) -> str:
    """The first test that fails; in a fork, so that the libraries are loaded once (not on Windows)."""
    said = copy / "said.txt"
    child = os.fork()
    if not child:
        _tested(copy, said, ["-q", "-x", "-p", "no:cacheprovider", "-m", mark, *tests])
    end, done = time.monotonic() + 600, 0
    while not (ended := os.waitpid(child, os.WNOHANG))[0]:
        if time.monotonic() > end:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return "over ten minutes"
        time.sleep(0.1)
    done = os.waitstatus_to_exitcode(ended[1])
    if done in (0, 5):  # 5: no test of this mark in it
        return ""
    failed = re.search(r"^(?:FAILED|ERROR) (\S+)", said.read_text(encoding="utf-8"), re.MULTILINE)
    return failed[1] if failed else "no test could begin"


def _tested(copy: Path, said: Path, arguments: list[str]) -> NoReturn:
    """Run pytest in `copy` and end this process with its answer."""
    code = 3
    try:
        out = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.chdir(copy)
        for name in [n for n in sys.modules if n.split(".")[0] in ("tests", "fleetlib")]:
            del sys.modules[name]
        sys.path[:] = [str(copy), *(p for p in sys.path if p and Path(p) != ROOT)]
        code = int(pytest.main(arguments))
        sys.stdout.flush()
    finally:
        os._exit(code)


def main() -> None:
    """Change, test, and print what was caught and what survived."""
    read = argparse.ArgumentParser(description=__doc__)
    read.add_argument("--count", type=int, default=60)
    read.add_argument("--seed", type=int, default=1)
    read.add_argument("--rooms", nargs="+", default=list(ROOMS), choices=ROOMS)
    read.add_argument("--store", type=Path)
    asked = read.parse_args()
    rng = random.Random(asked.seed)
    modules = [p for room in asked.rooms for p in sorted((ROOT / "fleetlib" / room).rglob("*.py"))]
    modules = [p for p in modules if not p.stem.startswith("picture")]
    drawn = rng.sample([c for p in modules for c in places(p)], asked.count)
    bitten: dict[Change, str] = {}
    with tempfile.TemporaryDirectory() as spare:
        copy = Path(spare) / "copy"
        kept = shutil.ignore_patterns(".git", ".venv", "*cache*")
        shutil.copytree(ROOT, copy, ignore=kept)
        for mark, ring in product((QUICK, "slow"), range(4)):
            print(f"{RINGS[ring]}, {mark}", flush=True)
            for change in [c for c in drawn if not bitten.get(c)]:
                bitten[change] = caught(change, copy, ring, mark)
                print(*astuple(change), bitten[change] or "survived so far", flush=True)
    rows = [(c.path, c.line, c.old, c.new, bitten[c] or "survived") for c in drawn]
    table = pd.DataFrame(rows, columns=["module", "line", "was", "became", "noticed by"])
    print(f"{sum(map(bool, bitten.values()))} of {len(table)} caught")
    if asked.store:
        table.to_csv(asked.store, index=False)


if __name__ == "__main__":
    main()
