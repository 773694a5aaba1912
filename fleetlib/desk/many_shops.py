"""Many shops at once, each in a folder of its own: those of a trade school or a co-operative."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from fleetlib.base.errors import FleetError, MissingRecords
from fleetlib.base.kit import holds_records
from fleetlib.base.money import format_money
from fleetlib.base.saving import write_own
from fleetlib.records.files.safe_csv import to_csv
from fleetlib.shop import open_shop
from fleetlib.shown.sheet import Notes, Sheet, Shown, Table


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class ManyShops(Shown):
    """What the shops have on hand and should ask for it.

    table    one row a piece: shop (its folder's name), currency, then the columns of `Shop.advise_all().table`
    refused  (shop, the sentence that says what must be mended) of each that gave no answer
    """

    table: pd.DataFrame
    priced: tuple[str, ...]
    refused: tuple[tuple[str, str], ...]

    def sheet(self) -> Sheet:
        """One line a shop; the pieces themselves are in `table`."""
        rows = []
        for shop in self.priced:
            own = self.table[self.table["shop"] == shop] if len(self.table) else self.table
            worth = "-"
            if len(own) and own["mid"].notna().any():
                worth = format_money(own["mid"].sum(), own["currency"].iloc[0])
            rows.append({"shop": shop, "on hand": str(len(own)), "worth together": worth})
        return Sheet(
            f"{len(self.priced)} shops priced",
            (
                Table(pd.DataFrame(rows)),
                Notes(tuple(f"{shop}: {why}" for shop, why in self.refused), "Not priced"),
            ),
        )


def shop_folders(parent: str | Path) -> list[Path]:
    """The shop folders right under `parent`, by name. Raises MissingRecords where there is none."""
    try:
        found = sorted(p for p in Path(parent).iterdir() if p.is_dir() and holds_records(p))
    except OSError as problem:
        raise MissingRecords(f"{parent} cannot be looked into: {problem.strerror}.") from problem
    if not found:
        raise MissingRecords(
            f"{parent} holds no shop folder. Name the folder in which the shops' own folders lie, each with its "
            "flips.csv or flips.xlsx."
        )
    return found


def price_shops(
    folders: Iterable[str | Path],
    *,
    jobs: int = -1,
    told: Callable[[int, int], object] = lambda done, of: None,
) -> ManyShops:
    """Price what every shop has on hand, `jobs` shops at once (-1: as many as there are processors).

    Each shop is worked out from its own records alone, to the same numbers as by itself; one that cannot be read
    keeps no other back. `told` is called with how many are done, and of how many. The work goes through joblib, so
    inside `with joblib.parallel_config(backend="dask"):` or another registered backend the same call runs on the
    machines of that cluster, which must see the same folders. Nothing is written.
    """
    from joblib import Parallel, delayed

    asked = [Path(folder) for folder in folders]
    tables, priced, refused = [], [], []
    work = Parallel(n_jobs=jobs, return_as="generator")(delayed(_priced)(f) for f in asked)
    for done, (folder, made) in enumerate(zip(asked, work, strict=True), start=1):
        told(done, len(asked))
        if isinstance(made, str):
            refused.append((folder.name, made))
            continue
        priced.append(folder.name)
        made.insert(0, "shop", folder.name)
        tables.append(made)
    table = pd.concat(tables, ignore_index=True) if tables else pd.DataFrame()
    return ManyShops(table, tuple(priced), tuple(refused))


def save_shops(made: ManyShops, folder: str | Path) -> list[Path]:
    """Write every piece of every shop to shops.csv in `folder`. Raises CannotSave over a file that is not ours."""
    return write_own(Path(folder), {"shops.csv": to_csv(made.table)})


def _priced(folder: Path) -> pd.DataFrame | str:
    try:
        made = open_shop(folder).advise_all()
    except (FleetError, OSError) as refusal:
        return str(refusal)
    table = made.table.copy()
    table.insert(0, "currency", made.currency)
    return table
