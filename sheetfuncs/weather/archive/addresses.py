"""Where the archives are: the one place to change when one of them moves."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

#: NOAA's Global Historical Climatology Network – Daily: public domain, no account (doi:10.7289/V5D21VHZ).
GHCN = "https://www.ncei.noaa.gov/pub/data/ghcn/daily"
#: NASA's POWER service: daily values on a grid of half a degree, free to use, no account.
GRID = "https://power.larc.nasa.gov/api/temporal/daily/point"
#: The first day that the grid holds.
GRID_START = date(1981, 1, 1)


@dataclass(frozen=True)
class Addresses:
    """The addresses of both archives, without a slash at the end."""

    ghcn: str = GHCN
    grid: str = GRID

    @property
    def station_list(self) -> str:
        """The list of all stations with their places."""
        return f"{self.ghcn}/ghcnd-stations.txt"

    @property
    def inventory(self) -> str:
        """The list of the years in which each station has which element."""
        return f"{self.ghcn}/ghcnd-inventory.txt"

    def station(self, identifier: str) -> str:
        """Return the address of one station's values."""
        return f"{self.ghcn}/by_station/{identifier}.csv.gz"

    def grid_point(self, latitude: float, longitude: float, start: date, end: date) -> str:
        """Return the address of the grid's daily lows and highs at a point, both days counted."""
        query = {
            "parameters": "T2M_MAX,T2M_MIN",
            "community": "AG",
            "latitude": f"{latitude:.4f}",
            "longitude": f"{longitude:.4f}",
            "start": f"{start:%Y%m%d}",
            "end": f"{end:%Y%m%d}",
            "format": "CSV",
        }
        return f"{self.grid}?{urlencode(query, safe=',')}"


def addresses() -> Addresses:
    """Return the addresses in use: ``SHEETFUNCS_GHCN`` and ``SHEETFUNCS_GRID`` in the environment replace them."""
    return Addresses(
        os.environ.get("SHEETFUNCS_GHCN", GHCN).rstrip("/"), os.environ.get("SHEETFUNCS_GRID", GRID).rstrip("/")
    )
