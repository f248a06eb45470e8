"""The worksheet functions, each declared once, by theme."""

from __future__ import annotations

from typing import Any

from . import (
    advice,
    climates,
    crop,
    frost,
    heat,
    learning,
    looking_back,
    pruning,
    ripening,
    rounds,
    shoots,
    today,
    winter,
)
from .declare import Function

_MODULES = (
    heat, climates, frost, pruning, ripening, shoots, advice, rounds, crop, winter, learning, looking_back, today,
)  # fmt: skip


def all_faces() -> tuple[Any, ...]:
    """Return every function as scripts call it, in the order of the themes and of their files."""
    return tuple(
        thing
        for module in _MODULES
        for thing in vars(module).values()
        if getattr(thing, "declaration", None) is not None and thing.__module__ == module.__name__
    )


def all_functions() -> tuple[Function, ...]:
    """Return every declaration, in the same order."""
    return tuple(face.declaration for face in all_faces())
