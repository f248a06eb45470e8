"""The worksheet functions, each declared once, by theme."""

from __future__ import annotations

from typing import Tuple

from .declare import Function

_MODULES: tuple = ()


def all_functions() -> Tuple[Function, ...]:
    """Return every declared function, in the order of the themes and of their files."""
    return tuple(
        thing.declaration
        for module in _MODULES
        for thing in vars(module).values()
        if getattr(thing, "declaration", None) is not None and thing.__module__ == module.__name__
    )
