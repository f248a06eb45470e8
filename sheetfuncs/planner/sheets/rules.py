"""What may be typed in a cell."""

from __future__ import annotations

from dataclasses import dataclass

from openpyxl.worksheet.datavalidation import DataValidation


@dataclass(frozen=True)
class Rule:
    """What may be typed in a cell; anything else is refused with ``wanted``."""

    type: str
    first: str
    second: str | None = None
    wanted: str = ""

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


def listed_in(cells: str, wanted: str) -> Rule:
    """Return the rule for a word that stands in a range of the workbook."""
    return Rule("list", cells, wanted=wanted)


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
