"""Weather files as a host: a station's days out of a file of any common form, and into a workbook.

:mod:`.reading` goes through it in order. A text is unpacked and decoded line by line (:mod:`.texts`), a workbook file
row by row (:mod:`.rows`). NOAA's own layout is known (:mod:`.ghcn`); any other table is understood by its headings
(:mod:`.headings`) or its values (:mod:`.columns`, :mod:`.choosing`), and a log of readings becomes days (:mod:`.logs`);
values that a service doubts are not used (:mod:`.marks`). What rows come to (:mod:`.collecting`) is finished in one way
(:mod:`.finishing`): the dates (:mod:`.stamps`) and the unit (:mod:`.units`) are found from the file as a whole. Where
two readings are possible, nothing is guessed: :class:`TwoReadingsError` says what the user has to say.
:mod:`.merging` joins the days with those that are known, and :mod:`.into_book` puts them into a workbook.
:mod:`.archive` finds stations and fetches their days.
"""

from __future__ import annotations

from .errors import TwoReadingsError, WeatherFileError
from .model import Choice, Day, Gap, Options, Refused, WeatherFile
from .reading import HalfFileError, join, read_weather, read_weather_file

__all__ = [
    "Choice",
    "Day",
    "Gap",
    "HalfFileError",
    "Options",
    "Refused",
    "TwoReadingsError",
    "WeatherFile",
    "WeatherFileError",
    "join",
    "read_weather",
    "read_weather_file",
]
