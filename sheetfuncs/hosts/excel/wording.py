"""Names and help texts as Excel and its macro language take them."""

from __future__ import annotations

from typing import Iterator

from ...functions import all_functions
from ...functions.declare import Function, Parameter

#: Excel shows no more of a help text.
LONGEST_HELP = 255
#: The function list's category.
CATEGORY = "sheetfuncs"

#: Names that no argument can have: words that the macro language keeps for itself, Excel's or Calc's (a test holds all
#: names to both grammars), what a wrapper speaks of, and the functions', since that language knows no capitals.
_TAKEN = frozenset(
    ["end", "base", "answer", "application", "range", "thisworkbook", "xlpy", *(one.name for one in all_functions())]
)


def argument_names(function: Function) -> tuple[str, ...]:
    """Return a function's argument names; one that is taken in the macro language gets its kind added."""
    return tuple(
        f"{one.name}_{one.kind.name.replace(' ', '_')}" if one.name.lower() in _TAKEN else one.name
        for one in function.parameters
    )


def function_help(function: Function) -> str:
    """Return a function's help: its summary, and as many of the next sentences as Excel shows."""
    short = ""
    for sentence in _sentences(function.doc):
        longer = f"{short} {sentence}".strip()
        if len(longer) > LONGEST_HELP:
            break
        short = longer
    return short or _cut(function.summary)


def _sentences(doc: str) -> Iterator[str]:
    for paragraph in doc.split("\n\n"):
        text = " ".join(paragraph.replace("``", "").split())
        if text.startswith(("Formula:", "Source", "Examples")):  # too long for a help line; the reference has them
            return
        *sentences, last = text.split(". ")
        yield from (sentence + "." for sentence in sentences)
        yield last


def argument_help(parameter: Parameter) -> str:
    """Return an argument's help, with what is taken where it is left out."""
    if parameter.required:
        return _cut(parameter.help)
    return _cut(f"{parameter.help}; left out: {parameter.default_text}" if parameter.default_text
                else f"{parameter.help}; may be left out")  # fmt: skip


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_HELP else text[: LONGEST_HELP - 1] + "…"
