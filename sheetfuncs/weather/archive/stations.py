"""The stations of GHCN-Daily: where they are, for how long they measured, and which help at a point.

The two lists are read by their columns: ghcnd-stations.txt (identifier 1–11, latitude 13–20, longitude 22–30, height
32–37, state 39–40, name 42–71) and ghcnd-inventory.txt (identifier 1–11, element 32–35, first year 37–40, last year
42–45); Menne et al. 2012, J. Atmos. Oceanic Technol. 29:897–910, doi:10.1175/JTECH-D-11-00103.1.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from typing import Iterable, Iterator, NamedTuple

from ..texts import printable

#: The mean radius of the earth [km].
_EARTH = 6371.0088
#: What a place differs by: a metre of height by the standard atmosphere's lapse rate, a kilometre by judgement [°C].
DEGREES_PER_METRE = 0.0065
DEGREES_PER_KM = 0.01
#: A record shorter than this gives few seasons (judgement).
YEARS_WANTED = 15
IDENTIFIER = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}")


class Station(NamedTuple):
    """A station: its identifier, latitude and longitude [°], height [m] (``None`` if not known), and name."""

    identifier: str
    latitude: float
    longitude: float
    height: float | None
    name: str


@dataclass(frozen=True)
class Candidate:
    """A station seen from a point.

    km : how far away. higher : by how much it lies higher than the point [m], ``None`` if not known. first, last : the
    years in which it has both lows and highs. reports : whether it still does.
    """

    station: Station
    km: float
    higher: float | None
    first: int
    last: int
    reports: bool

    @property
    def years(self) -> int:
        """How many years its record spans; holes in it show when it is fetched."""
        return self.last - self.first + 1

    @property
    def differs_by(self) -> float:
        """How different its days may be by distance and height [°C]."""
        return self.km * DEGREES_PER_KM + abs(self.higher or 0.0) * DEGREES_PER_METRE

    def why(self) -> str:
        """Return what speaks for and against it, in a few words."""
        words = [] if self.reports else [f"ended {self.last}"]
        if self.years < YEARS_WANTED:
            words.append("short record")
        if self.higher is not None and abs(self.higher) >= 100:
            words.append(f"{abs(self.higher):.0f} m {'higher' if self.higher > 0 else 'lower'}")
        if self.km >= 50:
            words.append("far")
        return ", ".join(words) or "good: near, long, still reporting"


def read_stations(lines: Iterable[str]) -> Iterator[Station]:
    """Go over the lines of the list of stations; lines that are none are passed over."""
    for line in lines:
        try:
            height = float(line[31:37])
            station = Station(
                line[:11], float(line[12:20]), float(line[21:30]), None if height < -900 else height,
                printable(" ".join(f"{line[41:71].strip()} {line[38:40]}".split()), 40),
            )  # fmt: skip
        except ValueError:
            continue
        if IDENTIFIER.fullmatch(station.identifier):
            yield station


def read_years(lines: Iterable[str]) -> dict[str, tuple[int, int]]:
    """Return the first and last year in which each station has both lows and highs, from the inventory's lines."""
    spans: dict[str, dict[str, tuple[int, int]]] = {}
    for line in lines:
        element = line[31:35]
        if element in ("TMIN", "TMAX"):
            try:
                spans.setdefault(line[:11], {})[element] = int(line[36:40]), int(line[41:45])
            except ValueError:
                continue
    pairs = {identifier: tuple(zip(*both.values())) for identifier, both in spans.items() if len(both) == 2}
    both = {identifier: (max(firsts), min(lasts)) for identifier, (firsts, lasts) in pairs.items()}
    return {identifier: (first, last) for identifier, (first, last) in both.items() if first <= last}


def best_near(
    stations: Iterable[Station], years: dict[str, tuple[int, int]], latitude: float, longitude: float,
    height: float | None, today: date, within_km: float = 150.0,
) -> list[Candidate]:  # fmt: skip
    """Return the stations around a point that have lows and highs, the one that helps most first.

    Those that still report and have fifteen years come before the others; among them the one whose days differ least
    by height and distance.
    """
    found = []
    for station in stations:
        span = years.get(station.identifier)
        # A degree of latitude is 111 km: most stations of the world are passed over by this alone.
        if span is None or abs(station.latitude - latitude) > within_km / 110:
            continue
        km = distance(latitude, longitude, station.latitude, station.longitude)
        if km <= within_km:
            higher = None if height is None or station.height is None else station.height - height
            found.append(Candidate(station, km, higher, *span, reports=span[1] >= today.year - 1))
    return sorted(found, key=lambda one: (not (one.reports and one.years >= YEARS_WANTED), one.differs_by))


def distance(latitude: float, longitude: float, other_latitude: float, other_longitude: float) -> float:
    """Return the distance of two points along the earth's surface [km], by the haversine formula."""
    north, east = math.radians(other_latitude - latitude), math.radians(other_longitude - longitude)
    cosines = math.cos(math.radians(latitude)) * math.cos(math.radians(other_latitude))
    half = math.sin(north / 2) ** 2 + cosines * math.sin(east / 2) ** 2
    return 2 * _EARTH * math.asin(min(1.0, math.sqrt(half)))
