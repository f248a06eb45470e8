"""50 years of a station, fetched from a server on this machine, read, and written into a workbook.

Beside them the data frame library, which reads the same file three times as it lies on the disk already, and the
recalculation of the workbook that then follows.
"""

from __future__ import annotations

import gzip
import os
import shutil
import tempfile
from pathlib import Path
from unittest import mock

import pandas
from click.testing import CliRunner

from sheetfuncs.cli.weather import add_weather
from sheetfuncs.planner import build_template
from sheetfuncs.recalc import recalculate
from tests import records
from tests.weather import archive_server, forms

from .measure import Ratio, in_turn

_NAMES = ("station", "day", "element", "value", "measured", "quality", "source", "hour")


def _by_pandas(path: Path) -> pandas.DataFrame:
    """Return lows and highs by day, as the library reads them."""
    frame = pandas.read_csv(path, names=_NAMES, dtype={"hour": str, "source": str})
    frame = frame[frame.element.isin(("TMIN", "TMAX")) & frame.quality.isna()]
    frame["day"] = pandas.to_datetime(frame.day, format="%Y%m%d")
    return frame.pivot_table("value", "day", "element").dropna() / 10


def run() -> list[Ratio]:
    """Return fetching, reading and writing beside the library's reading and the recalculation."""
    days = [row for row in records.clemson(1971, 2020) if None not in row]
    archive = archive_server.Archive()
    with tempfile.TemporaryDirectory() as name, archive_server.running(archive):
        folder = Path(name)
        path = forms.one_value_a_line(folder / "plain.csv", days, heading=False)
        packed = folder / "station.csv.gz"
        packed.write_bytes(gzip.compress(path.read_bytes()))
        archive.files[f"/by_station/{forms.STATION}.csv.gz"] = packed.read_bytes()
        blank = build_template(folder / "blank.xlsx", trees=10, recalculate=recalculate)
        book, full = folder / "figs.xlsx", folder / "full.xlsx"

        def add() -> None:
            shutil.copy(blank, book)
            shutil.rmtree(folder / "cache", ignore_errors=True)
            answer = CliRunner().invoke(add_weather, [str(book), "--station", forms.STATION], catch_exceptions=False)
            assert f"{len(days):,} days new" in answer.output, answer.output

        def read_and_recalculate() -> None:
            assert [len(_by_pandas(packed)) for _ in range(3)] == [len(days)] * 3
            recalculate(full, folder / "done.xlsx")

        more = {"SHEETFUNCS_GHCN": archive.address, "SHEETFUNCS_CACHE": str(folder / "cache")}
        with mock.patch.dict(os.environ, more):
            add()
            shutil.copy(book, full)
            what = f"{len(days):,} days fetched, read and written / pandas reading them thrice, and recalculating"
            return [in_turn(what, add, read_and_recalculate, rounds=5, target="1")]
