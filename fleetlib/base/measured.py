"""How lengths and volumes are said: in inches and cubic feet, or in centimetres and cubic metres, as the shop does."""

from __future__ import annotations

CM_IN_AN_INCH = 2.54  # exactly
_CUBIC_METRES = (CM_IN_AN_INCH / 100) ** 3 * 12**3  # in a cubic foot


def length(inches: float, unit: str = "in") -> str:
    """A length in `unit`, "in" or "cm", without naming it: `48.5`; whole centimetres: `123`."""
    return f"{inches * CM_IN_AN_INCH:.0f}" if unit == "cm" else f"{inches:g}"


def with_unit(inches: float, unit: str = "in") -> str:
    """A length with its unit: `48.5 in`, `123 cm`."""
    return f"{length(inches, unit)} {unit}"


def volume(cubic_feet: float, unit: str = "in", *, places: int = 1) -> str:
    """A volume with its unit: `45.4 cu ft` to so many `places`; for a shop that measures in cm `1.29 m³`."""
    if unit == "cm":
        return f"{cubic_feet * _CUBIC_METRES:.2f} m\u00b3"
    return f"{cubic_feet:.{places}f} cu ft"


def measured(name: str, value: float, unit: str = "in") -> str:
    """The value of a column that measures, `size_cuft` or one in inches, with its unit; of any other as it is."""
    if name == "size_cuft":
        return volume(value, unit)
    return with_unit(value, unit) if name.endswith("_in") else f"{value:g}"
