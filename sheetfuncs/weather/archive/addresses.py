"""Where the archives are: the one place to change when one of them moves.

``SHEETFUNCS_GHCN`` and ``SHEETFUNCS_GRID`` in the environment name other addresses.
"""

from __future__ import annotations

import os
from datetime import date
from urllib.parse import urlencode

#: NOAA's Global Historical Climatology Network – Daily: public domain, no account (doi:10.7289/V5D21VHZ).
GHCN = "https://www.ncei.noaa.gov/pub/data/ghcn/daily"
#: NASA's POWER service: daily values on a grid of half a degree, free to use, no account.
GRID = "https://power.larc.nasa.gov/api/temporal/daily/point"
#: The first day that the grid holds.
GRID_START = date(1981, 1, 1)


def of_archive(name: str) -> str:
    """Return the address of a file of the archive of stations."""
    return f"{os.environ.get('SHEETFUNCS_GHCN', GHCN).rstrip('/')}/{name}"


def of_grid_point(latitude: float, longitude: float, start: date, end: date) -> str:
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
    return f"{os.environ.get('SHEETFUNCS_GRID', GRID).rstrip('/')}?{urlencode(query, safe=',')}"
