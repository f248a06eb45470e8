"""Public archives of daily weather: which stations are near, and their files, fetched and kept.

:mod:`.addresses` says where the archives are, :mod:`.fetching` brings one file into the user's cache, :mod:`.stations`
knows the list of stations, :mod:`.source` is where a workbook's weather comes from. Days are read by the package above,
as from any other file; nothing here knows a workbook.
"""

from __future__ import annotations
