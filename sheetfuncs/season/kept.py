"""Things that are made once and kept."""

from __future__ import annotations

from typing import Any, Callable, Dict, Hashable, TypeVar

Made = TypeVar("Made")


class Kept(Dict[Hashable, Any]):
    """Things once made, under their keys; where there are too many, all go first."""

    def __init__(self, most: int) -> None:
        """Keep at most so many."""
        self._most = most

    def made(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Return what is kept under a key, made where nothing is."""
        found: Made | None = self.get(key)
        if found is None:
            found = make()
            if len(self) >= self._most:
                self.clear()
            self[key] = found
        return found
