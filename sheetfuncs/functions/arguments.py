"""What arguments are: one kind and one wording for the same thing everywhere, defaults in the climate's unit."""

from __future__ import annotations

import inspect
from dataclasses import dataclass
from typing import Any, Sequence

from ..cells.errors import InputError
from ..cells.kinds import CHANCE, CLIMATE, DATE, DAYS, HEAT_UNITS, SEASON, SPREAD, Kind, choice, number
from ..season.degree_days import CUTOFFS, METHODS
from ..season.record import CELSIUS

REQUIRED = inspect.Parameter.empty


@dataclass(frozen=True)
class Argument:
    """What a declaration adds to an argument of the signature: its kind and its help."""

    kind: Kind
    help: str


@dataclass(frozen=True)
class Parameter:
    """One argument of a declared function, complete."""

    name: str
    kind: Kind
    help: str
    label: str
    default: Any

    @property
    def required(self) -> bool:
        """Whether the argument must be given."""
        return self.default is REQUIRED

    @property
    def default_text(self) -> str:
        """The default as the reference shows it; empty where there is none."""
        if isinstance(self.default, bool):
            return "yes" if self.default else "no"
        return "" if self.default is REQUIRED or self.default is None else str(self.default)


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


def chance_text(chance: float) -> str:
    """Return a chance as a text: none is a bare 0 or 100 %."""
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def count_text(number: int, thing: str) -> str:
    """Return a count as a text: ``1 day``, ``1,200 days``."""
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


NEED_SPREAD = Argument(
    # A need whose standard deviation is more than half of it is no need.
    number("share", "a share from 0 to 0.5, such as 0.06 or 6%", 0, 0.5, percent=True),
    "standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one "
    "whose class is not; 0: known exactly",
)
REACHED_CHANCE = Argument(CHANCE, "chance that the date is reached before the season's end")

#: What is offered in plain words, and what the literature calls it, whose words are understood as well.
_METHODS = {"sine": "sine", "mean": "average"}
_CUTOFFS = {"stays level": "horizontal", "counts against": "intermediate", "stops": "vertical"}


def in_the_literature(method: str, cutoff: str) -> tuple[str, str]:
    """Return what the literature calls a method and a cut-off."""
    return _METHODS.get(method, method), _CUTOFFS.get(cutoff, cutoff)


#: What an argument of such a name is, unless its function says otherwise.
USUAL = {
    "climate": Argument(CLIMATE, "cell of a climate: the place's, for a tree its position's"),
    "season": Argument(SEASON, "year in which the autumn falls"),
    "cut_date": Argument(DATE, "day on which the shoot tips are removed"),
    "heat_need": Argument(HEAT_UNITS, "heat from visible fig to first ripe fig [heat units]"),
    "chance": Argument(CHANCE, "chance with which the first figs must ripen before the season's end"),
    "lag_days": Argument(DAYS, "days from the cut to visible figs"),
    "need_spread": NEED_SPREAD,
    "picking_heat": Argument(SPREAD, "heat from the first to the last ripe fig of a tree [heat units]"),
    "method": Argument(
        choice("method", *_METHODS, also=METHODS),
        "the heat of a day by a sine through its low and high, or their mean",
    ),
    "cutoff": Argument(
        choice("cut-off", *_CUTOFFS, also=CUTOFFS),
        "heat above the ceiling stays level (neither helps nor harms), counts against (is taken off again), or stops "
        "(nothing grows meanwhile)",
    ),
}
