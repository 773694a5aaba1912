"""What is believed about a shop's prices before its records are read, column by column.

Scales of the half-t priors (4 degrees of freedom) on how strong each column is against the noise of single
sales, about .25 in log price: 1 for what a buyer looks at first (type, wood, finish, size, the number in the
lot), a quarter of that for everything else, for curvature and for combinations. So before any sale a type is
worth some 25% either way and a grade some 6%; from there on the sales decide. No column is left out for saying
little: shrinkage does that, and choosing columns by the same sales makes ranges too narrow.

Time has three parts: a steady drift of `years_before` (scale .3 of the noise for a spread of the dates: about
7% a year, around a drift of 0, since published indices of old furniture ran from -8 to +13% a year), a season
(.4), and a walk of the level (.4, about 10% for a year), by which the newest sales tell most about today.
"""

from __future__ import annotations

from fleetlib.price.regression.priors import Priors

SHOP = Priors(
    scales={
        "furniture_type": 1.0,
        "wood": 1.0,
        "finish": 1.0,
        "size_cuft": 1.0,
        "pieces_in_lot": 1.0,
        "years_before": 0.3,
    },
    by_kind={
        "factor": 0.25,
        "measure": 0.25,
        "cycle": 0.4,
        "walk": 0.4,
        "smooth": 0.25,
        "combination": 0.25,
    },
    tail=4.0,
    stretch=False,
)
