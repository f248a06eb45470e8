"""The errors of this package: a file that cannot be read, or that can be read in two ways, in one line."""

from __future__ import annotations

from typing import Sequence

from ..cells.errors import FileError


class WeatherFileError(FileError):
    """One line that gives the reason why a weather file was not read."""


class TwoReadingsError(WeatherFileError):
    """A file that could be read in more than one way; the user has to say which.

    option : the question, a name of :class:`~.model.Options`. answers : what can be answered, if it is a short list.
    """

    def __init__(self, line: str, option: str, answers: Sequence[str] = ()) -> None:
        super().__init__(line)
        self.option = option
        self.answers = tuple(answers)
