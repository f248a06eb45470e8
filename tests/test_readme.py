"""README.md describes what the code does, and the guide names files that exist."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

from sheetfuncs.cells.dates import short
from sheetfuncs.cli.app import app
from sheetfuncs.cli.explain import overview
from sheetfuncs.planner.sheets import trees
from sheetfuncs.xlsx import read_sheet

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_list_of_functions_is_what_explain_prints():
    assert f"```\n{overview()}\n```" in README


def test_the_cautions_are_shown():
    for word in ("sap", "gloves", "disinfect", "label", "estimates, not a promise", "local"):
        assert word in README, word


#: Columns of the table of the demo, by their keys on *Trees*.
SHOWN = ("tag", "kind", "position", "latest", "give", "first_ripe", "chance", "share", "advice")
TABLE = trees.table(1)


def shown(key: str, value: Any) -> str:
    """Return a cell as a person sees it."""
    if key in ("chance", "share"):
        return "over 99 %" if value > 0.99 else f"{value:.0%}"
    if key == "give":
        return f"± {value:g}"
    return short(value) if isinstance(value, date) else str(value)


def test_the_table_of_the_demo_is_the_shipped_demo():
    cells = read_sheet(Path(__file__).parents[1] / "workbook_templates" / "fig-trees-demo.xlsx", trees.NAME)
    header = re.search(r"^\| Tag \|.*\|$", README, re.M).group()
    headings = {column.key: column.heading for column in TABLE.columns}
    words = [word.strip() for word in header.strip("|").split("|")]
    assert words == ["Chance" if key == "chance" else headings[key] for key in SHOWN]
    rows = [line.strip("|").split("|") for line in re.findall(r"^\| [PG]-\d\d \|.*\|$", README, re.M)]
    assert len(rows) >= 8
    lines = {cells.get(f"{TABLE.letter('tag')}{row}"): row for row in range(TABLE.first_row, TABLE.first_row + 40)}
    for row in rows:
        line = lines[row[0].strip()]
        assert [word.strip() for word in row] == [
            shown(key, cells[f"{TABLE.letter(key)}{line}"]) for key in SHOWN
        ]  # fmt: skip


def test_its_commands_are_there():
    commands = set(re.findall(r"(?:^|`)sheetfuncs ([a-z-]+)", README, re.M))
    assert {"new", "add-weather", "recalc", "carry", "stations"} <= commands
    assert commands <= set(app.list_commands(None))


def test_the_first_command_leaves_the_next_one_working_on_every_system():
    assert ". .venv/bin/activate && pip install" in README
    assert r".venv\Scripts\activate && pip install" in README


def test_the_guide_is_short_and_its_paths_are_there():
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert len(guide) <= 6000
    for path in re.findall(r"`((?:season|cells|functions|xlsx|recalc|weather|hosts|planner|cli)/[a-z_/]+\.py)`", guide):
        assert (ROOT / "sheetfuncs" / path).is_file(), path
    for path in re.findall(r"\]\((?!http)([^)#]+)\)|`((?:tests|\.ci)/[\w/.]+)`", guide):
        assert (ROOT / (path[0] or path[1])).exists(), path
