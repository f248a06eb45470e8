"""Climates of records that many tests use, each made once for a process: a climate never changes."""

from __future__ import annotations

from functools import lru_cache

import sheetfuncs
from sheetfuncs.functions.examples import valley_days

from .records import chicago, clemson


@lru_cache(maxsize=None)
def valley():
    """Return the climate of the invented valley, °C."""
    return sheetfuncs.climate_of(valley_days())


@lru_cache(maxsize=None)
def temperate():
    """Return the climate of Chicago, °F."""
    return sheetfuncs.climate_of(chicago(), "F")


@lru_cache(maxsize=None)
def hot(first=1991, last=2020):
    """Return the climate of Clemson from one year to another, °F."""
    return sheetfuncs.climate_of(clemson(first, last), "F")
