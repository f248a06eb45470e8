"""The climates that this process holds, each under the short text that stands for it in a cell."""

from __future__ import annotations

import threading
from collections import OrderedDict
from contextlib import contextmanager
from typing import Any, Callable, Generic, Iterator, TypeVar

from .errors import InputError

Held = TypeVar("Held")

NOT_LOADED = "climate not loaded here, recalculate the whole workbook ({keys})"


class Shelf(Generic[Held]):
    """Keep the most recently used things under their texts; safe to use from several threads.

    The text of a thing is ``str(thing)`` and must change whenever the thing does.
    """

    def __init__(self, room: int) -> None:
        self._room = room
        self._keepers = 0  # how many want everything kept at the moment
        self._things: OrderedDict[str, Held] = OrderedDict()
        self._lock = threading.Lock()
        #: The keys that recalculate everything, in the host at hand.
        self.keys = "Ctrl+Alt+F9"
        #: Where else the thing of a text is looked for: a function that returns ``None`` where it finds none.
        self.find: Callable[[str], Held | None] | None = None

    def put(self, thing: Held) -> str:
        """Keep a thing and return its text; where the text is known already, the thing held stays."""
        text = str(thing)
        with self._lock:
            self._things.setdefault(text, thing)
            self._things.move_to_end(text)
            self._make_room()
        return text

    @contextmanager
    def keeping_all(self) -> Iterator[None]:
        """Let nothing go meanwhile: a host that answers a whole workbook at once needs all of its climates."""
        with self._lock:
            self._keepers += 1
        try:
            yield
        finally:
            with self._lock:
                self._keepers -= 1
                self._make_room()

    def _make_room(self) -> None:
        while len(self._things) > self._room and not self._keepers:
            self._things.popitem(last=False)

    def get(self, text: str) -> Held:
        """Return the thing of a text; raises :class:`InputError` where it is not held."""
        # Without the lock, for speed: each step is whole by itself, and what was used last is not let go.
        try:
            self._things.move_to_end(text)
            return self._things[text]
        except KeyError:
            found = self.find(text) if self.find is not None else None
            if found is None:
                raise InputError(NOT_LOADED.format(keys=self.keys)) from None
            return found

    def held(self, text: str) -> Held | None:
        """Return the thing of a text where it is held."""
        return self._things.get(text)

    def clear(self) -> None:
        """Let everything go."""
        with self._lock:
            self._things.clear()


#: All climates of this process. The one piece of state the package keeps.
CLIMATES: Shelf[Any] = Shelf(room=96)
