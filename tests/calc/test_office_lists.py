"""What Calc itself asks for."""

from __future__ import annotations

import pytest

from .expected import expected_cell
from .office import RunningOffice
from .test_office_functions import FUNCTIONS

pytestmark = pytest.mark.office


def test_arguments_that_are_needed_calc_itself_asks_for(office: RunningOffice, book: str) -> None:
    lines = [[f"={function.worksheet_name}()"] for function in FUNCTIONS]
    office.paste(document=book, address=f"A1:A{len(lines)}", rows=lines)
    shown = office.get(document=book, sheet=0, address=f"A1:A{len(lines)}")
    for function, [value] in zip(FUNCTIONS, shown):
        if any(parameter.required for parameter in function.parameters):
            assert value["shown"] in ("Err:504", "Err:511"), function.name  # its own words: parameter list, missing
        else:
            assert value == expected_cell(function, [])
