"""What may be typed in a cell, and what counts where nothing is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from openpyxl.worksheet.datavalidation import DataValidation

from ...functions import all_functions
from ...functions.declare import InCelsius

#: So much of what was found is shown [letters].
LONGEST_FOUND = 24


@dataclass(frozen=True)
class Rule:
    """What may be typed in a cell; anything else is refused with ``wanted``."""

    type: str
    first: str
    second: str | None = None
    wanted: str = ""

    def fits(self, cell: str) -> str:
        """Return the formula of whether a cell holds what is wanted: a program may hold what its own rule refuses."""
        if self.type == "list":
            if not self.first.startswith('"'):  # a name
                return f"COUNTIF({self.first},{cell})>0"
            return "OR(" + ",".join(f'{cell}="{word}"' for word in self.first.strip('"').split(",")) + ")"
        if self.type == "date":
            return f"ISNUMBER({cell})"
        return f"AND(ISNUMBER({cell}),N({cell})>={self.first},N({cell})<={self.second})"

    def found(self, cell: str, name: str) -> str:
        """Return the formula of a line that says what a cell holds and what is wanted."""
        text = f'""""&LEFT({cell},{LONGEST_FOUND})&""""'
        if self.type == "date":
            return f'"{name} is the text "&{text}&", wanted a date"'
        return f'"{name} is "&IF(ISNUMBER({cell}),{cell},IF({cell}="","blank",{text}))&", wanted {self.wanted}"'

    def checked(self, cell: str, name: str) -> str:
        """Return the formula of what a cell holds, or of a line that says what is wanted."""
        return f'IF({self.fits(cell)},{cell},"Check: "&{self.found(cell, name)})'

    def validation(self) -> DataValidation:
        """Return the rule as the workbook's own validation, still without cells."""
        return DataValidation(
            type=self.type,
            operator=None if self.type == "list" else "between" if self.second else "greaterThanOrEqual",
            formula1=self.first,
            formula2=self.second,
            allow_blank=True,
            showErrorMessage=True,
            errorTitle="Please look again",
            error=f"Wanted: {self.wanted}",
        )


def one_of(*words: str) -> Rule:
    """Return the rule for one word out of a short list."""
    return Rule("list", '"' + ",".join(words) + '"', wanted="one of " + ", ".join(words))


def listed_in(name: str, wanted: str) -> Rule:
    """Return the rule for a word that stands in a range of the workbook, known by its name."""
    return Rule("list", name, wanted=wanted)


def number_between(least: float, most: float, wanted: str) -> Rule:
    """Return the rule for a number."""
    return Rule("decimal", f"{least:g}", f"{most:g}", wanted)


def whole_between(least: int, most: int, wanted: str) -> Rule:
    """Return the rule for a whole number."""
    return Rule("whole", str(least), str(most), wanted)


#: 1 January 1850 is no spreadsheet date: records in sheets start in 1900.
A_DATE = Rule("date", "61", "109575", "a date of the years 1900 to 2199")
A_TEMPERATURE = number_between(-150, 150, "a temperature")
YES_NO = one_of("yes", "no")


def default(function: str, argument: str) -> str:
    """Return an argument's declared default as a formula without its ``=``, in the workbook's unit."""
    value = _defaults(function)[argument]
    if isinstance(value, InCelsius):
        celsius, fahrenheit = value.in_unit("C"), value.in_unit("F")
        return f'IF(Unit="F",{fahrenheit:g},{celsius:g})'
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"


@lru_cache(maxsize=None)
def _defaults(name: str) -> dict[str, Any]:
    function = next(one for one in all_functions() if one.name == name)
    return {parameter.name: parameter.default for parameter in function.parameters}
