"""Weather files as a host: a station's days out of a file of any common form, and into a workbook.

:mod:`.reading` goes through it in order. A text is unpacked and decoded line by line (:mod:`.texts`), a workbook
file row by row (:mod:`.rows`). NOAA's own layouts are known (:mod:`.ghcn`); any other table is understood by its
headings and by what is in it (:mod:`.columns`, :mod:`.choosing`, :mod:`.headings`); values that a service
doubts are not used (:mod:`.marks`). Its rows come to days (:mod:`.collecting`) of which the
dates (:mod:`.stamps`) and the unit (:mod:`.units`) are found from the file as a whole (:mod:`.finishing`). Where two
readings are possible, nothing is guessed: :class:`TwoReadingsError` says what the user has to say.
:mod:`.merging` joins the days with those that are known, and :mod:`.into_book` puts them into a workbook.
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
