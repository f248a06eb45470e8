"""A kind's heat need as the log of the own trees teaches it."""

from __future__ import annotations

from datetime import date
from itertools import zip_longest
from typing import Any, Sequence, Union

from ..cells.errors import CHECK, LONGEST_LINE, CellFault, InputError, wrong
from ..cells.kinds import CLIMATES_BY_LINE, DATE, DAYS, HEAT_UNITS, NUMBER, Kind, as_column, is_check
from ..season.climate import Climate
from ..season.learning import Ripened, learn, start_of, why_not
from .arguments import InCelsius
from .declare import Argument, declared

#: A log's dates; a cell that is no date is kept as what is wrong with it, so that the other lines still count.
LogDates = Sequence[Union[date, InputError, None]]


def _read_log_dates(cells: Any, label: str, epoch: date) -> LogDates:
    if isinstance(cells, CellFault):
        raise wrong(label, cells, "a column of dates")
    one = label[:-1] if label.endswith("s") else label
    dates: list[date | InputError | None] = []
    for cell in as_column(cells, label):
        if DATE.blank(cell) or is_check(cell):
            dates.append(None)
            continue
        try:
            dates.append(DATE.read(cell, one, epoch))
        except InputError as unread:
            dates.append(unread)
    return tuple(dates)


def _read_words(cells: Any, label: str, epoch: date) -> tuple[str, ...]:
    if isinstance(cells, CellFault):
        raise wrong(label, cells, "a column of names")
    return tuple(_word(cell) for cell in as_column(cells, label))


def _read_word(cell: Any, label: str, epoch: date) -> str:
    if isinstance(cell, CellFault):
        raise wrong(label, cell, "a name")
    return _word(cell)


def _word(cell: Any) -> str:
    """Return a name as spreadsheets compare names: capitals do not matter, 7 and "7" are one."""
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        cell = int(cell)
    if isinstance(cell, int) and abs(cell) >= 10**15:  # Python itself will not spell out all of it
        return ""
    return "" if cell is None else " ".join(str(cell).split()).casefold()


_LOG_DATES = Kind("column of dates, blanks allowed", _read_log_dates, many=True)
_WORDS = Kind("column of names, blanks allowed", _read_words, many=True)
_WORD = Kind("name", _read_word)


@declared(
    NUMBER,
    shape="row",
    headings=("need", "trees", "miss_days", "check", "need_spread"),
    climate=Argument(
        CLIMATES_BY_LINE, "climate of the trees' position, with the days of the log's years; or a column, one a line"
    ),
    cut_dates=Argument(_LOG_DATES, "the log's column of cuts"),
    seen_dates=Argument(_LOG_DATES, "the log's column of figs seen; blank: the cut and the lag"),
    ripe_dates=Argument(_LOG_DATES, "the log's column of first ripe figs; lines without one are left out"),
    table_need=Argument(HEAT_UNITS, "the kind's heat need in the table, visible fig to first ripe fig [heat units]"),
    lag_days=Argument(DAYS, "days from the cut to visible figs, where they were not seen"),
    kinds=Argument(_WORDS, "the log's column of kinds, where only one kind's lines are to count"),
    kind=Argument(_WORD, "the kind whose lines count; blank: all"),
    positions=Argument(_WORDS, "the log's column of positions, where only one position's lines are to count"),
    position=Argument(_WORD, "the position whose lines count; blank: all"),
)
def learned_heat_need(
    climate: Climate | tuple[Climate | InputError | None, ...],
    cut_dates: LogDates,
    seen_dates: LogDates,
    ripe_dates: LogDates,
    table_need: float = InCelsius(1300, degree_days=True),
    lag_days: int = 10,
    kinds: tuple[str, ...] | None = None,
    kind: str | None = None,
    positions: tuple[str, ...] | None = None,
    position: str | None = None,
    need_spread: float = 0.06,
) -> tuple[float, int, float | None, str | None, float]:
    """Heat need of a kind, weighed from the table and from the log: need, trees, typical miss in days.

    Each finished line gives an observed need: the heat from the day figs were seen to the middle of the day the first
    was ripe. The table's need counts as a normal prior of 12 % spread (judgement). A line far from the others counts
    for less: a log of one line moves the need by at most 6 %, one of two lines by 12 %; thirty outweigh the table. Half
    of the lines miss the date foretold from the table and all other lines by more than the typical miss.

    A fourth cell names the lines that do not count, such as ripe before the cut, and is blank where all do. A fifth is
    the need spread that is left: the table's, weighed with how far the lines lie from the learned need. One or two
    lines leave it as it is, thirty that agree make it small.

    A line with more than 3 days missing from the weather does not count; with 12 monthly normals every line counts by
    their middle season. With a column of climates each line's heat is its own position's, so that a kind learns from
    all its trees; with kinds and positions only the lines of one kind, or of one at one position, count; lines are
    still numbered as in the log. Source of the weighing: Huber 1964, Ann. Math. Statist. 35:73–101.

    Examples
    --------
    >>> learned_heat_need(valley, ["2024-06-08", "2025-06-12"], [None, "2025-06-20"], ["2024-09-22", "2024-09-25"])
    (1378.0, 1, 13.0, 'Check: line 2: ripe before the cut', 0.06)
    """
    lines: list[Ripened] = []
    left_out: list[tuple[int, str]] = []
    climates = climate if isinstance(climate, tuple) else (climate,) * len(ripe_dates)
    columns: tuple[Sequence[Any], ...] = cut_dates, seen_dates, ripe_dates, climates, kinds or (), positions or ()
    for number, (cut, seen, ripe, own, its_kind, its_position) in enumerate(zip_longest(*columns), start=1):
        if ripe is None or kind not in (None, its_kind) or position not in (None, its_position):
            continue
        unread = next((cell for cell in (cut, seen, ripe, own) if isinstance(cell, InputError)), None)
        if unread is not None:
            left_out.append((number, unread.line[len(CHECK) :]))
            continue
        reason = "no climate, is its position blank" if own is None else why_not(own, cut, seen, ripe, lag_days)
        if reason:
            left_out.append((number, reason))
        else:
            lines.append(Ripened(own, start_of(cut, seen, lag_days), ripe))  # type: ignore[arg-type]
    learned = learn(table_need, lines, need_spread)
    return learned.need, learned.lines, learned.miss_days, _left_out_line(left_out), learned.need_spread


def _left_out_line(left_out: Sequence[tuple[int, str]]) -> str | None:
    """Return one line that says what is wrong with the first wrong line, and names as many more as fit."""
    if not left_out:
        return None
    number, reason = left_out[0]
    line = f"{CHECK}line {number}: {reason}"
    others = [str(number) for number, _ in left_out[1:]]
    for named in range(len(others), -1, -1):
        more = [f"{len(others) - named} more"] if named < len(others) else []
        tail = ", ".join(others[:named] + more)
        text = f"{line}; not counted either: {tail}" if tail else line
        if len(text) <= LONGEST_LINE:
            return text
    return InputError(line).line
