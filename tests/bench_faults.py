"""How many harmed files, kills, writers, full disks and barred folders were tried and survived, kind by kind.

    python -m tests.bench_faults                     # 10,000 flips, 5,000 of each other file, 500 kills: an hour or two
    python -m tests.bench_faults --share 0.05 --minutes 20 --processes 2
    python -m tests.bench_faults --only flips events

Prints one table, and under it what did not survive. `--minutes` ends each kind of file early; the table says how many
were tried. Processor time of one file may be two seconds; a kind this machine does not allow is skipped by name.
"""

from __future__ import annotations

import argparse
import gc
import multiprocessing
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.fault_processes import full_disk, kills, no_permission, writers
from tests.fault_trials import HARMED, Tally, harm

ASKED = {
    "flips": 10_000,
    "events": 5_000,
    "settings": 5_000,
    "finds": 5_000,
    "answers": 5_000,
    "workbooks": 5_000,
    "prices": 250,
}
BATCH = 25


def _batch(asked: tuple[str, int, int, float]) -> Tally:
    kind, seed, count, until = asked
    gc.freeze()  # what was imported is not gone through again for every file
    with tempfile.TemporaryDirectory() as folder:
        return harm(kind, count, Path(folder), seed=seed, until=until)


def _files(kind: str, count: int, seed: int, minutes: float, processes: int) -> Tally:
    until = time.monotonic() + 60 * minutes
    batches = [(kind, seed + n, min(BATCH, count - n), until) for n in range(0, count, BATCH)]
    made = Tally(kind)
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        for part in pool.imap_unordered(_batch, batches):
            made.tried += part.tried
            made.survived += part.survived
            made.failures += part.failures
    return made


def main() -> None:
    """Run the kinds asked for and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--share", type=float, default=1.0, help="of the full counts")
    parser.add_argument("--minutes", type=float, default=1e6, help="the most for each kind of file")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--only", nargs="*", help="kinds by name")
    chosen = parser.parse_args()
    share = chosen.share
    tasks: dict[str, Callable[[], Tally]] = {
        kind: lambda kind=kind: _files(  # type: ignore[misc]
            kind, round(share * ASKED[kind]), chosen.seed, chosen.minutes, chosen.processes
        )
        for kind in HARMED
    }
    tasks |= {
        "kills": lambda: kills(round(500 * share), seed=chosen.seed),
        "writers": lambda: writers(round(1000 * share), round(100 * share)),
        "disk": lambda: full_disk(round(1000 * share), seed=chosen.seed),
        "permission": no_permission,
    }
    done = []
    print(f"{'kind':40} {'tried':>7} {'survived':>9}", flush=True)
    for name, task in tasks.items():
        if chosen.only and name not in chosen.only:
            continue
        made = task()
        done.append(made)
        said = f"skipped: {made.skipped}" if made.skipped else f"{made.tried:7} {made.survived:9}"
        print(f"{made.kind:40} {said}", flush=True)
    for made in done:
        for failure in made.failures:
            print(f"{made.kind}: {failure}")


if __name__ == "__main__":
    main()
