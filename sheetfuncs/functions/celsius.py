"""Defaults in °C that take the unit of the climate they are used with."""

from __future__ import annotations

from typing import Any, Sequence

from ..cells.errors import InputError
from ..season.record import CELSIUS


class InCelsius(float):
    """A default in °C or °C·day that becomes the climate's own unit when it is used."""

    def __new__(cls, value: float, degree_days: bool = False) -> InCelsius:
        """Make the default; degree_days : whether it is a sum of heat, not a temperature on the scale."""
        made = super().__new__(cls, value)
        made.degree_days = degree_days  # type: ignore[attr-defined]
        return made

    def in_unit(self, unit: str) -> float:
        """Return the value in °C or °F (or their degree-days)."""
        if unit == "C":
            return float(self)
        return float(self) * 1.8 + (0 if self.degree_days else 32)  # type: ignore[attr-defined]

    def __str__(self) -> str:
        return f"{float(self):g} °C·day" if self.degree_days else f"{float(self):g} °C"  # type: ignore[attr-defined]

    __repr__ = __str__


def in_the_climate_s_unit(values: Sequence[Any]) -> list[Any]:
    """Return arguments, of which the first is a climate or several, with their defaults in its unit.

    Raises :class:`InputError` where the climates are in different units.
    """
    climates = values[0] if isinstance(values[0], tuple) else (values[0],)
    units = {one.unit for one in climates if hasattr(one, "unit")}
    if len(units) > 1:
        raise InputError("climates are in °C and in °F, wanted one unit for all")
    unit = units.pop() if units else CELSIUS
    return [value.in_unit(unit) if isinstance(value, InCelsius) else value for value in values]
