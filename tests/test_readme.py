"""README.md says what the code does."""

from __future__ import annotations

import re
from pathlib import Path

from sheetfuncs.cells.dates import short
from sheetfuncs.cli.explain import overview
from sheetfuncs.planner.sheets import trees
from sheetfuncs.xlsx import read_values

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")


def test_the_list_of_functions_is_what_explain_prints():
    assert f"```\n{overview()}\n```" in README


def test_the_cautions_are_shown():
    for word in ("sap", "gloves", "disinfect", "label", "estimates, not a promise", "local"):
        assert word in README, word


def test_the_table_of_the_demo_is_the_shipped_demo():
    demo = Path(__file__).parents[1] / "workbook_templates" / "fig-trees-demo.xlsx"
    cells = read_values(demo)[trees.NAME]
    layout = trees.table(1)
    rows = re.findall(r"^\| ([PG]-\d\d) \| (.+?) \| (.+?) \| (.+?) \| .* \| (.+?) \|$", README, re.M)
    assert len(rows) >= 8
    tags = {cells.get(f"{layout.letter('tag')}{row}"): row for row in range(layout.first_row, layout.first_row + 40)}
    for tag, kind, position, latest, advice in rows:
        shown = [cells[f"{layout.letter(key)}{tags[tag]}"] for key in ("kind", "position", "latest", "advice")]
        assert [kind, position, latest, advice] == [*shown[:2], short(shown[2]), shown[3]]
