"""README.md says what the code does."""

from __future__ import annotations

from pathlib import Path

from sheetfuncs.hosts.command_line.explain import overview

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")


def test_the_list_of_functions_is_what_explain_prints():
    assert f"```\n{overview()}\n```" in README


def test_the_cautions_are_shown():
    for word in ("sap", "Gloves".lower(), "disinfect", "label", "estimates, not a promise", "local"):
        assert word in README, word
