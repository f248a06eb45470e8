"""What the core answers: the examples in the help of every function, and what it says to bad input, as JSON.

Runs on any Python that has the core on its path; the last line of its caller is ``all_answers()``.
"""

from __future__ import annotations

import contextlib
import doctest
import io
import json
import sys
from datetime import date


def all_answers() -> str:
    """Return the answers of this Python."""
    import sheetfuncs
    import sheetfuncs.season
    from sheetfuncs.functions import all_functions
    from sheetfuncs.functions.examples import valley_days

    names = {name: getattr(sheetfuncs, name) for name in sheetfuncs.__all__}
    names.update(date=date, valley_days=valley_days, valley=sheetfuncs.climate_of(valley_days()))
    answers: dict[str, list[str]] = {}
    for function in all_functions():
        answers[function.worksheet_name] = lines = [function.signature_text()]
        for example in doctest.DocTestParser().get_examples(function.doc):
            with contextlib.redirect_stdout(io.StringIO()) as printed:
                try:
                    lines.append(repr(eval(example.source, names)))
                except SyntaxError:  # a line that is no expression, and may print
                    exec(example.source, names)
            lines.append(printed.getvalue())
        for bad in ("?", -1e9, True, date(2026, 7, 1), [["a"], [2.0], [None]]):
            lines.append(repr(function.in_cell([bad] * len(function.parameters))))
    loaded = sorted(name for name in sys.modules if name.partition(".")[0] == "sheetfuncs")
    return json.dumps({"platform": sys.platform, "modules": loaded, "answers": answers})


if __name__ == "__main__":
    print(all_answers())
