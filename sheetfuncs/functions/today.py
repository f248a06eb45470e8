"""The day that answers are for, and which edition of the functions answers."""

from __future__ import annotations

import os
from datetime import date

from ..cells.errors import InputError, wrong
from ..cells.kinds import DATE, NUMBER, whole
from .declare import Argument, declared

#: In the environment: the day in place of the computer's, so that a workbook can be made again as it was.
DAY_OF_THE_COMPUTER = "SHEETFUNCS_TODAY"
#: Raised by one when functions, arguments or words come that a workbook's formulas may use: a workbook carries the
#: edition that it was made for, and says when an older one answers.
EDITION = 1
_EDITIONS = whole("edition", "a whole number from 1 to 1000", 1, 1000)


@declared(DATE, typed=Argument(DATE, "a day in place of the computer's date; blank: none"))
def today_or(typed: date | None = None) -> date:
    """Today's date, or the day typed in its place.

    Unlike a program's own TODAY it is worked out with the other answers only, so that a program without these functions
    leaves what hangs on it as it was. SHEETFUNCS_TODAY in the environment stands for the computer's date.

    Examples
    --------
    >>> today_or("2026-06-22")
    datetime.date(2026, 6, 22)
    """
    if typed is not None:
        return typed
    day = os.environ.get(DAY_OF_THE_COMPUTER)
    try:
        return date.fromisoformat(day) if day else date.today()
    except ValueError:
        raise wrong(DAY_OF_THE_COMPUTER, day, "a date such as 2026-06-22") from None


@declared(NUMBER, wanted=Argument(_EDITIONS, "edition that a workbook was made for"))
def functions_edition(wanted: int) -> int:
    """Which edition of the functions answers, by which a workbook finds that older ones are installed.

    Where the functions are older than the edition wanted, a line says so.

    Examples
    --------
    >>> functions_edition(1)
    1
    """
    if wanted > EDITION:
        raise InputError(f"functions are of edition {EDITION}, wanted {wanted}: add them again after an update")
    return EDITION
