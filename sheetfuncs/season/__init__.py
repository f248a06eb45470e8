"""The season's science: heat, frost, and when figs ripen. Pure Python, standard library alone, no I/O.

How a season is worked out:

* A season is named by the year of its autumn. North: its growing year is the calendar year; south: July to June. Its
  days go on to the end of the freeze year (north 31 July, south 31 January), so that a first freeze after New Year
  has a day.
* A season of the record is complete when no day is missing from April to November (south: October to May) after gaps
  of up to three days are filled. Three complete seasons are the least.
* A season ends with its first freeze, or for good: on the day after its last week, from August to January (February
  to July), whose mean is at or above 12 °C. A warm week after the freeze still counts: it differs in 10 of 105
  seasons, by a day to a week.
* The chance in one season more is the mean over the traces of Φ((L − m)/√v), see ``season/chances.py``. s is the open
  place's, at its positions too: else a freeze less in a warm one would make its seasons differ more and its last date
  earlier.
* Heat is summed in whole millionths of a degree-day, so that the chance falls strictly with each day that brings any:
  ``RIPEN_CHANCE`` and ``LATEST_PRUNE_DATE`` are exact inverses.
* A cut's figs are seen ``lag_days`` later; that day's heat counts. The day that ends the season counts no more. A fig
  is ripe on the first day by whose end the need is reached.
* Freezes: a low at or under the limit, plus half of the last figure that the record keeps (0.05 °C for tenths and
  whole °F, 0.005 °C for hundredths), so that its rounding decides nothing.
* Typed frost estimates give each trace the date at the rank of its own freeze. A freeze this season has already had
  stays a fact; known days without one cut the early part of the estimate off.
* A position moves a typed estimate by the days which the mean low needs to fall by the position's gain. Its own
  freezes keep the station's spread (``season/frost.py``): with one spread for all gains a warmer position never has
  an earlier freeze, at any chance.
* The NOAA 1971–2000 freeze table is met to the printed day with springs from the seasons 1 August 1970 – 31 July 2000
  and autumns of the calendar years 1971–2000.
"""
