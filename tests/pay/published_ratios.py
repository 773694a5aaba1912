"""Small published tables for ratios, resampling and shrinkage, with the figures printed for them.

PATCH        Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 10 and 25: eight subjects,
             z = old patch - placebo, y = new patch - old patch.
CITY         ten cities, population in thousands 1920 (u) and 1930 (x); Davison & Hinkley 1997, Bootstrap
             Methods and their Application, table 2.1 (from Cochran).
BIG_CITY     49 of 196 large US cities, the same years; Cochran 1977, Sampling Techniques, 3rd ed., ch. 6.
BATTERS      hits in the first 45 at-bats of 1970 and the average of the rest of the season, 18 players;
             Efron & Morris 1975, JASA 70, 311-319, table 1.

The data of the ten cities (as shipped with an R package) and the batters' averages were read; the rest, and where a
figure stands in its book, is from memory. What follows from the data is worked out again in the tests.
"""

import numpy as np

PATCH_Z = np.array([8406, 2342, 8187, 8459, 4795, 3516, 4796, 10238], dtype=float)
PATCH_Y = np.array([-1200, 2601, -2705, 1982, -1290, 351, -638, -2719], dtype=float)

CITY_1920 = np.array([138, 93, 61, 179, 48, 37, 29, 23, 30, 2], dtype=float)
CITY_1930 = np.array([143, 104, 69, 260, 75, 63, 50, 48, 111, 50], dtype=float)

HITS_IN_45 = np.array(
    [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7], dtype=float
)
_SEASON = (
    ".346 .298 .276 .222 .273 .270 .263 .210 .269 .230 .264 .256 .303 .264 .226 .285 .316 .200"
)
SEASON = np.array([float(v) for v in _SEASON.split()])

BIG_CITY_1920 = np.array(
    [
        138,
        93,
        61,
        179,
        48,
        37,
        29,
        23,
        30,
        2,
        38,
        46,
        71,
        25,
        298,
        74,
        50,
        76,
        381,
        387,
        78,
        60,
        507,
        50,
        77,
        64,
        40,
        136,
        243,
        256,
        94,
        36,
        45,
        67,
        120,
        172,
        66,
        46,
        121,
        44,
        64,
        56,
        40,
        116,
        87,
        43,
        43,
        161,
        36,
    ],
    dtype=float,
)

BIG_CITY_1930 = np.array(
    [
        143,
        104,
        69,
        260,
        75,
        63,
        50,
        48,
        111,
        50,
        52,
        53,
        79,
        57,
        317,
        93,
        58,
        80,
        464,
        459,
        106,
        57,
        634,
        64,
        89,
        77,
        60,
        139,
        291,
        288,
        85,
        46,
        53,
        67,
        115,
        183,
        86,
        65,
        113,
        58,
        63,
        142,
        64,
        130,
        105,
        61,
        50,
        232,
        54,
    ],
    dtype=float,
)
