"""Arguments that several functions share: one kind and one wording for the same thing everywhere."""

from __future__ import annotations

from ..cells.kinds import CHANCE, CLIMATE, DATE, DAYS, HEAT_UNITS, SEASON, SPREAD, choice
from ..season.degree_days import CUTOFFS, METHODS
from .declare import Argument

ANY_CLIMATE = Argument(CLIMATE, "cell of a climate")
TREE_CLIMATE = Argument(CLIMATE, "cell of the climate of the tree's position")
SEASON_YEAR = Argument(SEASON, "year in which the autumn falls")
CUT_DATE = Argument(DATE, "day on which the shoot tips are removed")
HEAT_NEED = Argument(HEAT_UNITS, "heat from visible fig to first ripe fig [heat units]")
LAG_DAYS = Argument(DAYS, "days from the cut to visible figs")
RIPENING_SPREAD = Argument(SPREAD, "heat from the first to the last ripe fig of a tree [heat units]")
REACHED_CHANCE = Argument(CHANCE, "share of the seasons in which the date is reached before the season's end")
METHOD = Argument(choice("method", *METHODS), "how the day's course is drawn: " + ", ".join(METHODS))
CUTOFF = Argument(choice("cut-off", *CUTOFFS), "what heat above the ceiling does: " + ", ".join(CUTOFFS))
