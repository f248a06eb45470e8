"""Weather files of every form, made from rows of date, low, high.

Layouts of GHCN-Daily (NOAA, National Centers for Environmental Information):
- fixed width, ``.dly``: readme.txt of GHCN-Daily, section III: ID 1–11, YEAR 12–15, MONTH 16–17, ELEMENT 18–21, then
  VALUE 22–26, MFLAG 27, QFLAG 28, SFLAG 29 and so on to VALUE31 262–266, SFLAG31 269; −9999 missing (looked up).
- comma separated by station and by year: readme-by_station.txt: ID, YEAR/MONTH/DAY as 8 letters, ELEMENT, DATA VALUE,
  M-FLAG, Q-FLAG, S-FLAG, OBS-TIME (looked up); files of both kinds have come with and without a heading (from memory).
- one day a line with a heading: STATION, DATE, LATITUDE, …, TMAX, TMAX_ATTRIBUTES; values padded to 5 letters,
  attributes "M,Q,S" or "M,Q,S,time" (looked up in published files).
"""

from __future__ import annotations

import csv
from collections import defaultdict
from datetime import datetime, timedelta

STATION = "XXC00123456"  # an invented one


def tenths(value, unit="F"):
    """Return a temperature in tenths of °C."""
    return round((value - 32) / 0.18) if unit == "F" else round(value * 10)


def in_tenths(rows, unit="F"):
    """Return the days that have both values, as read back from tenths of °C."""
    return [(day, tenths(low, unit) / 10, tenths(high, unit) / 10) for day, low, high in complete(rows)]


def complete(rows):
    """Return the rows that have both values."""
    return [row for row in rows if None not in row]


def fixed_width(path, rows, unit="F", flags=None, station=STATION):
    """Write the ``.dly`` layout. flags : {(day, element): quality flag}."""
    months = defaultdict(dict)
    for day, low, high in rows:
        for element, value in (("TMAX", high), ("TMIN", low)):
            months[day.year, day.month, element][day.day] = (day, value)
    with path.open("w", encoding="ascii", newline="\n") as file:
        for (year, month, element), days in sorted(months.items()):
            file.write(f"{station}{year}{month:02}{element}")
            for number in range(1, 32):
                day, value = days.get(number, (None, None))
                quality = (flags or {}).get((day, element), " ")
                file.write("-9999   " if value is None else f"{tenths(value, unit):5} {quality}0")
            file.write("\n")
            file.write(f"{station}{year}{month:02}PRCP" + "    0  7" * 31 + "\n")
    return path


def one_value_a_line(path, rows, unit="F", flags=None, stations=(STATION,), heading=True):
    """Write the comma-separated layout with one value a line, by day as files of a year have it."""
    with path.open("w", encoding="ascii", newline="\n") as file:
        if heading:
            file.write("ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n")
        for day, low, high in rows:
            for number, station in enumerate(stations):
                for element, value in (("TMAX", high), ("TMIN", low), ("PRCP", 0)):
                    if value is not None:
                        written = value if element == "PRCP" else tenths(value, unit) + number
                        quality = (flags or {}).get((day, element), "")
                        file.write(f"{station},{day:%Y%m%d},{element},{written},,{quality},0,0700\n")
    return path


def one_day_a_line(path, rows, unit="F", flags=None, value=tenths):
    """Write the layout with a heading and one day a line."""
    place = ("STATION", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "NAME")
    columns = (*place, "PRCP", "PRCP_ATTRIBUTES", "TMAX", "TMAX_ATTRIBUTES", "TMIN")
    with path.open("w", encoding="ascii", newline="") as file:
        writer = csv.writer(file, quoting=csv.QUOTE_ALL)
        writer.writerow([*columns, "TMIN_ATTRIBUTES"])
        for day, low, high in rows:
            cells = [STATION, day.isoformat(), "46.5", "14.1", "512.0", "INVENTED VALLEY", "    0", ",,0"]
            for element, number in (("TMAX", high), ("TMIN", low)):
                quality = (flags or {}).get((day, element), "")
                cells += ["", ""] if number is None else [f"{value(number, unit):5}", f",{quality},0,0700"]
            writer.writerow(cells)
    return path


def text(path, rows, heading=("Date", "Low", "High"), separator=",", date="%Y-%m-%d", comma=False, order=(0, 1, 2),
         encoding="utf-8", end="\n", more=()):  # fmt: skip
    """Write a plain table. order : which of date, low, high stands where. more : what each row ends with."""
    lines = [] if heading is None else [separator.join(heading)]
    for day, low, high in rows:
        cells = [day.strftime(date), *("" if value is None else f"{value:g}" for value in (low, high))]
        if comma:
            cells[1:] = [cell.replace(".", ",") for cell in cells[1:]]
        lines.append(separator.join([*(cells[index] for index in order), *more]))
    path.write_bytes((end.join(lines) + end).encode(encoding))
    return path


def readings(rows, minutes=60):
    """Return (time, temperature) through the days of a record: the low at 5 o'clock, the high at 15 o'clock."""
    for day, low, high in complete(rows):
        start = datetime(day.year, day.month, day.day)
        for step in range(0, 24 * 60, minutes):
            hour = step / 60
            share = max(0.0, 1 - abs(hour - 15) / 10)
            yield start + timedelta(minutes=step), round(low + (high - low) * share, 2)
