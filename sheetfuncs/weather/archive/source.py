"""Where a workbook's weather comes from: a station of the archive, or a point of the grid."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean as mean
from typing import NamedTuple, Sequence

from ..errors import WeatherFileError
from ..model import Day, Progress
from .addresses import GRID_START, of_archive, of_grid_point
from .fetching import Fetched, fetch
from .stations import IDENTIFIER, Candidate, Station, best_near, read_stations, read_years

#: The lists of stations grow by a few lines a day: a month in the cache does no harm.
_LISTS_FRESH_FOR = timedelta(days=30)
_LARGEST_LIST = 150 * 1024**2
_LARGEST_RECORD = 60 * 1024**2
#: The grid's last days are corrected for some weeks after.
_GRID_OVERLAP = timedelta(days=60)
#: Shared days a month that make a mean difference worth taking off (judgement).
SHARED_DAYS_WANTED = 28

GRID_CAUTION = (
    "These are a grid's values, means over some 50 km: a garden's nights are often colder, near water or walls warmer."
)
GHCN_LICENCE = "NOAA GHCN-Daily, public domain"
GRID_LICENCE = "NASA POWER, free to use"


@dataclass(frozen=True)
class Source:
    """A station by its identifier, or a point of the grid (latitude, longitude)."""

    station: str = ""
    point: tuple[float, float] | None = None

    def __str__(self) -> str:
        return f"station {self.station}" if self.point is None else f"grid {self.point[0]:g}, {self.point[1]:g}"

    @property
    def licence(self) -> str:
        """Who gives the values, and what one may do with them."""
        return GHCN_LICENCE if self.point is None else GRID_LICENCE


def source_of(text: str) -> Source:
    """Return the source that ``str`` wrote down; raises :class:`~..errors.WeatherFileError` where it is none."""
    kind, _, which = text.strip().partition(" ")
    if kind == "grid":
        return Source(point=read_point(which))
    if kind == "station" and IDENTIFIER.fullmatch(which):
        return Source(which)
    raise WeatherFileError(f'the workbook\'s weather comes from "{text[:40]}", wanted such as: station USC00208080')


def read_point(text: str) -> tuple[float, float]:
    """Return the latitude and longitude [°] in a text such as ``42.3,-83.7``."""
    parts = text.replace("−", "-").replace(",", " ").split()
    try:
        latitude, longitude = (float(part) for part in parts)
    except ValueError:
        latitude = longitude = float("nan")
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise WeatherFileError(f'"{text[:40]}" is no place, wanted latitude and longitude such as 42.3,-83.7')
    return latitude, longitude


def stations_near(
    latitude: float, longitude: float, height: float | None, today: date, progress: Progress | None = None
) -> list[Candidate]:
    """Return the stations around a point that have lows and highs, the one that helps most first."""
    return best_near(_stations(progress), _years(progress), latitude, longitude, height, today)


def stations_named(text: str, progress: Progress | None = None) -> list[Station]:
    """Return the stations with lows and highs whose names hold all the words of a text."""
    years, words = _years(progress), text.upper().split()
    found = (station for station in _stations(progress) if station.identifier in years)
    return [station for station in found if all(word in station.name.upper() for word in words)]


def station_called(identifier: str, progress: Progress | None = None) -> Station | None:
    """Return what the list says of a station, ``None`` where it does not have it."""
    return next((one for one in _stations(progress) if one.identifier == identifier), None)


def fetch_source(source: Source, last_known: date | None, today: date, progress: Progress | None = None) -> Fetched:
    """Return the file of a source.

    last_known : the last day of it that is known already; the grid sends only what may be new.
    """
    if source.point is None:
        if not IDENTIFIER.fullmatch(source.station):
            raise WeatherFileError(f'"{source.station[:20]}" is no station, wanted 11 letters such as USC00208080')
        return fetch(of_archive(f"by_station/{source.station}.csv.gz"), _LARGEST_RECORD, progress)
    start = GRID_START if last_known is None else max(GRID_START, last_known - _GRID_OVERLAP)
    return fetch(of_grid_point(*source.point, start, today), _LARGEST_RECORD, progress)


def _stations(progress: Progress | None) -> list[Station]:
    return list(read_stations(_lines("ghcnd-stations.txt", progress)))


def _years(progress: Progress | None) -> dict[str, tuple[int, int]]:
    return read_years(_lines("ghcnd-inventory.txt", progress))


def _lines(name: str, progress: Progress | None) -> list[str]:
    fetched = fetch(of_archive(name), _LARGEST_LIST, progress, _LISTS_FRESH_FOR)
    return fetched.path.read_text("utf-8", "replace").splitlines()


# -- two stations ----------------------------------------------------------------------------------------------


class MonthDifference(NamedTuple):
    """By how much one station differs from another in a month: shared days, and means of low and high [°]."""

    month: int
    days: int
    low: float
    high: float


def differences(near: Sequence[Day], far: Sequence[Day]) -> list[MonthDifference]:
    """Return, month by month, how much warmer the near station is than the far one on the days that both have."""
    of_far = {day.day: day for day in far}
    by_month: dict[int, list[tuple[float, float]]] = {}
    for day in near:
        other = of_far.get(day.day)
        if other is not None:
            by_month.setdefault(day.day.month, []).append((day.low - other.low, day.high - other.high))
    return [MonthDifference(month, len(found), *map(mean, zip(*found))) for month, found in sorted(by_month.items())]


def with_past(near: Sequence[Day], far: Sequence[Day], by_month: list[MonthDifference] | None) -> tuple[Day, ...]:
    """Return the near station's days, and before its first day the far one's.

    by_month : the differences that are added to the far station's days; ``None`` leaves them as they are.
    Raises :class:`~..errors.WeatherFileError` where a month has too few shared days for its difference.
    """
    older = [day for day in far if day.day < near[0].day]
    if by_month is not None:
        enough = {one.month: one for one in by_month if one.days >= SHARED_DAYS_WANTED}
        too_few = next((day.day.month for day in older if day.day.month not in enough), None)
        if too_few is not None:
            raise WeatherFileError(
                f"the two stations share fewer than {SHARED_DAYS_WANTED} days in month {too_few},"
                " too few to take their difference off; leave --adjust out, or choose another"
            )
        older = [_warmer(day, enough[day.day.month]) for day in older]
    return (*older, *near)


def _warmer(day: Day, by: MonthDifference) -> Day:
    low, high = round(day.low + by.low, 1), round(day.high + by.high, 1)
    return Day(day.day, low, max(low, high))
