"""The licences of everything an installed fleetlib stands on, as a table in DEVELOPERS.md.

`python .ci/licences.py` writes it from what the installed packages say of themselves; `--check` says whether the
table holds the same packages. Test tools are left out: they are not handed on.
"""

from __future__ import annotations

import re
import sys
import tomllib
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- licences: written by .ci/licences.py -->", "<!-- licences: end -->"
# One name for each licence, however a package spells it (SPDX names).
_NAMES = (
    (r"BSD-3|3-clause|new bsd|modified bsd", "BSD-3-Clause"),
    (r"BSD-2|simplified bsd|2-clause", "BSD-2-Clause"),
    (r"0BSD", "0BSD"),
    (r"bsd", "BSD (which clauses the package does not say)"),
    (r"\bmit\b|expat", "MIT"),
    (r"apache", "Apache-2.0"),
    (r"mozilla|MPL", "MPL-2.0"),
    (r"python software foundation|PSF", "PSF-2.0"),
    (r"HPND|historical permission", "HPND"),
    (r"\bISC\b", "ISC"),
    (r"unlicense", "Unlicense"),
)


def stood_on() -> dict[str, str]:
    """Every package an installed fleetlib needs here, by name, with its licence."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    waiting = [Requirement(d) for d in project["dependencies"]]
    found: dict[str, str] = {}
    seen: set[tuple[str, frozenset[str]]] = set()
    while waiting:
        wanted = waiting.pop()
        if wanted.marker and not wanted.marker.evaluate({"extra": ""}):
            continue
        name = re.sub(r"[-_.]+", "-", wanted.name).lower()
        if (name, frozenset(wanted.extras)) in seen:
            continue
        seen.add((name, frozenset(wanted.extras)))
        try:
            held = distribution(wanted.name)
        except PackageNotFoundError:
            continue  # for another system
        found[name] = licence_of(held)
        extras = wanted.extras
        for text in held.requires or ():
            need = Requirement(text)
            if need.marker is None or any(
                need.marker.evaluate({"extra": extra}) for extra in ("", *extras)
            ):
                waiting.append(need)
    return found


def licence_of(held: Distribution) -> str:
    """The licence a package says it has: its expression, else its classifiers, else its first line of text."""
    said = held.metadata.get("License-Expression")
    if said:
        return str(said)
    ends = [c.rsplit("::", 1)[1].strip() for c in held.metadata.get_all("Classifier") or ()
            if c.startswith("License ::")]  # fmt: skip
    ends = [e for e in ends if e != "OSI Approved"]
    text = "; ".join(ends) or str(held.metadata.get("License") or "").strip().split("\n")[0]
    for pattern, name in _NAMES:
        if re.search(pattern, text, re.IGNORECASE):
            exact = str(held.metadata.get("License") or "")
            clauses = re.search(r"BSD[- ]([23])", exact, re.IGNORECASE)
            return f"BSD-{clauses[1]}-Clause" if clauses and name.startswith("BSD (") else name
    return text or "not said"


def table() -> str:
    """The table, one row a licence."""
    by: dict[str, list[str]] = {}
    for name, licence in sorted(stood_on().items()):
        by.setdefault(licence, []).append(name)
    rows = [f"| {licence} | {', '.join(names)} |" for licence, names in sorted(by.items())]
    return "\n".join([BEGIN, "", "| licence | packages |", "|---|---|", *rows, "", END])


def main() -> int:
    """Write the table, or with --check compare the packages in it."""
    page = PAGE.read_text(encoding="utf-8")
    before = page[page.index(BEGIN) : page.index(END) + len(END)]
    if "--check" not in sys.argv[1:]:
        PAGE.write_text(page.replace(before, table()), encoding="utf-8")
        return 0
    told = set(
        re.findall(
            r"[a-z0-9-]+",
            " ".join(r.split("|")[2] for r in before.split("\n") if r.count("|") == 3),
        )
    )
    lacking = sorted(set(stood_on()) - told)
    if lacking:
        print(
            f"DEVELOPERS.md names no licence for {', '.join(lacking)}; run python .ci/licences.py"
        )
    return 1 if lacking else 0


if __name__ == "__main__":
    raise SystemExit(main())
