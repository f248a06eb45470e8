"""The whole method once more, slowly: plain dictionaries of dates, one day after the other, no short cuts.

Written from the description of the method alone, without a look at ``sheetfuncs.season``, so that an error
would have to be made twice to go unseen. Every search tries every date.
"""

from __future__ import annotations

from .answers import *  # noqa: F403
from .days import *  # noqa: F403
from .freezes import *  # noqa: F403
from .ways import *  # noqa: F403
