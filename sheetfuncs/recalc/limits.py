"""How much memory and time a recalculation may take; the environment allows another measure."""

from __future__ import annotations

import os
from dataclasses import dataclass

from ..cells.errors import InputError

#: What the environment calls the limits.
MEMORY, SECONDS = "SHEETFUNCS_MEMORY_GB", "SHEETFUNCS_SECONDS"


@dataclass(frozen=True)
class Limits:
    """The most that evaluating one workbook may take: memory [GB of 2**30 bytes] and time [s]."""

    memory: float = 3.0
    seconds: float = 300.0

    @property
    def memory_bytes(self) -> int:
        """The memory in bytes."""
        return int(self.memory * 2**30)


def limits_in_force() -> Limits:
    """Return the limits that the environment sets, else the usual ones; raises :class:`InputError`."""
    usual = Limits()
    return Limits(
        _from_environment(MEMORY, usual.memory, "GB", 0.5), _from_environment(SECONDS, usual.seconds, "seconds", 1)
    )


def _from_environment(name: str, usual: float, unit: str, least: float) -> float:
    text = os.environ.get(name, "").strip()
    if not text:
        return usual
    wanted = f"the environment's {name} is {text[:20]!r}, wanted a number of {unit} from {least:g} to 100000"
    try:
        number = float(text)
    except ValueError:
        raise InputError(wanted) from None
    if not least <= number <= 100_000:  # and not a number at all
        raise InputError(wanted)
    return number
