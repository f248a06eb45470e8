"""Prints all timings, and how far promised chances hold: ``python -m tests.benchmarks [NAME ...]``."""

from __future__ import annotations

import importlib
import sys

from .measure import machine, show

NAMES = (
    "known_climate", "making", "station", "start", "workbook_file", "weather_file", "fetched", "calc", "calc_making",
    "calc_opening", "calibration", "normals",
)  # fmt: skip


def main(names: tuple[str, ...]) -> None:
    """Run the named benchmarks and print their ratios; one that lacks a program is passed over with a word."""
    print(machine())
    for name in names or NAMES:
        print(f"\n{name}", flush=True)
        try:
            ratios = importlib.import_module(f".{name}", __package__).run()
            if ratios:  # the last two print tables of their own
                show(ratios)
        except (SystemExit, ImportError) as missing:
            print(f"passed over: {missing}")


if __name__ == "__main__":
    main(tuple(sys.argv[1:]))
