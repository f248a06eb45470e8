"""Prints all timings: ``python -m tests.benchmarks [NAME ...]``."""

from __future__ import annotations

import importlib
import platform
import sys

from .measure import show

NAMES = ("known_climate", "workbook_file", "weather_file")


def main(names: tuple[str, ...]) -> None:
    """Run the named benchmarks and print their ratios."""
    print(f"{platform.machine()}, {platform.system()} {platform.release()}, Python {platform.python_version()}")
    for name in names or NAMES:
        print(f"\n{name}")
        show(importlib.import_module(f".{name}", __package__).run())


if __name__ == "__main__":
    main(tuple(sys.argv[1:]))
