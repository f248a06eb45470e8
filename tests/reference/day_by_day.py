"""The whole method once more, slowly: plain dictionaries of dates, one day after the other, no short cuts.

Written from the description of the method alone, without a look at ``sheetfuncs.season``, so that an error
would have to be made twice to go unseen. Every search tries every date.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date, timedelta
from statistics import NormalDist, mean, stdev

DAY = timedelta(days=1)
NORMAL = NormalDist()
#: Sums of a hundred decimals reach a round need but for a hair.
HAIR = 1e-6

# -- heat of one day --------------------------------------------------------------------------------------


def _above(x, low, high, shape):
    """Return the mean excess over ``x`` and the share of the time above ``x`` for a half day."""
    middle, swing = (low + high) / 2, (high - low) / 2
    if shape == "average":
        return max(middle - x, 0), float(middle > x)
    if shape == "clipped average":
        return (max(low - x, 0) + max(high - x, 0)) / 2, ((low > x) + (high > x)) / 2
    if high <= x:
        return 0.0, 0.0
    if low >= x:
        return middle - x, 1.0
    if shape == "triangle":
        share = (high - x) / (high - low)
        return share * (high - x) / 2, share
    angle = math.asin((x - middle) / swing)
    excess = ((middle - x) * (math.pi / 2 - angle) + swing * math.cos(angle)) / math.pi
    return excess, (math.pi / 2 - angle) / math.pi


def heat_of_day(low, high, base, ceiling=None, method="sine", cutoff="horizontal", next_low=None):
    """Return the heat units of a day by any of the six methods and three cut-offs."""
    if method.startswith("double "):
        second = low if next_low is None else next_low
        shape = method[len("double ") :]
        halves = [
            heat_of_day(low, high, base, ceiling, shape, cutoff),
            heat_of_day(min(second, high), max(second, high), base, ceiling, shape, cutoff),
        ]
        return mean(halves)
    over_base, _ = _above(base, low, high, method)
    if ceiling is None:
        return over_base
    over_ceiling, time_over_ceiling = _above(ceiling, low, high, method)
    if cutoff == "horizontal":
        return over_base - over_ceiling
    if cutoff == "intermediate":
        return max(over_base - 2 * over_ceiling, 0.0)
    return over_base - over_ceiling - (ceiling - base) * time_over_ceiling


# -- from rows to days ------------------------------------------------------------------------------------


def degrees(celsius, unit):
    """Return a temperature of the Celsius scale in the unit."""
    return celsius if unit == "C" else celsius * 1.8 + 32


def steps(celsius, unit):
    """Return a difference of temperatures in the unit."""
    return celsius if unit == "C" else celsius * 1.8


def clean(rows, unit):
    """Return ``({date: (low, high)}, refused row numbers, dates that were filled)``."""
    lows, highs, row_of = {}, {}, {}
    for number, (day, low, high) in enumerate(sorted(rows, key=lambda row: row[0]), start=1):
        if day in row_of and (lows.get(day), highs.get(day)) != (low, high):
            raise ValueError("a day twice")
        lows[day], highs[day], row_of[day] = low, high, number
    raw = {day: (lows[day], highs[day]) for day in row_of}
    refused = []
    for day, (low, high) in raw.items():
        wrong_way_round = low is not None and high is not None and low > high
        least, most = degrees(-60, unit), degrees(60, unit)
        beyond = any(value is not None and not least <= value <= most for value in (low, high))
        jump = False
        before, after = raw.get(day - DAY), raw.get(day + DAY)
        if before and after:
            for which in (0, 1):
                here, left, right = raw[day][which], before[which], after[which]
                if None not in (here, left, right):
                    up = min(here - left, here - right) > steps(30, unit)
                    down = max(here - left, here - right) < -steps(30, unit)
                    jump = jump or up or down
        if wrong_way_round or beyond or jump:
            refused.append(row_of[day])
            lows[day] = highs[day] = None
    filled = set()
    for series in (lows, highs):
        known = sorted(day for day, value in series.items() if value is not None)
        for left, right in zip(known, known[1:]):
            missing = (right - left).days - 1
            if 1 <= missing <= 3:
                for step in range(1, missing + 1):
                    day = left + step * DAY
                    series[day] = series[left] + (series[right] - series[left]) * step / (missing + 1)
                    filled.add(day)
    days = {
        day: (lows[day], highs[day])
        for day in sorted(set(lows) | set(highs))
        if lows.get(day) is not None and highs.get(day) is not None
    }
    return days, refused, filled & set(days)


@dataclass(frozen=True)
class Place:
    """A cleaned record and its rules; ``heat``, ``low`` and ``middle`` are dictionaries by date."""

    unit: str
    heat: dict
    low: dict
    middle: dict
    frost_at: float
    stall_at: object
    south: bool = False
    room: float = 0.0
    gain: float = 0.0  # by how much its nights are warmer than its station's
    estimate: object = None  # a NormalDist of day numbers counted from 31 December
    open_place: object = None  # the place without the position and without the estimate


def place_of(
    rows,
    unit="C",
    base=None,
    ceiling=None,
    frost_at=None,
    stall_at=None,
    method="sine",
    cutoff="horizontal",
    south=False,
    warmer_high=0.0,
    warmer_low=0.0,
):
    """Return the place of a record; ``stall_at="off"`` switches the stall off."""
    base = degrees(8, unit) if base is None else base
    ceiling = degrees(36, unit) if ceiling is None else ceiling
    frost_at = degrees(0, unit) if frost_at is None else frost_at
    stall_at = degrees(12, unit) if stall_at is None else None if stall_at == "off" else stall_at
    open_place = None
    if (warmer_high, warmer_low) != (0.0, 0.0):
        open_place = place_of(rows, unit, base, ceiling, frost_at, stall_at or "off", method, cutoff, south)
    days, _, _ = clean(rows, unit)
    days = {day: (low + warmer_low, max(high + warmer_high, low + warmer_low)) for day, (low, high) in days.items()}
    heat = {}
    for day, (low, high) in days.items():
        next_low = days[day + DAY][0] if day + DAY in days else low
        heat[day] = heat_of_day(low, high, base, ceiling, method, cutoff, next_low)
    return Place(
        unit,
        heat,
        {day: low for day, (low, _) in days.items()},
        {day: (low + high) / 2 for day, (low, high) in days.items()},
        frost_at,
        stall_at,
        south,
        room_for_rounding([low for _, low, _ in rows], unit),
        warmer_low,
        open_place=open_place,
    )


def rows_until(rows, day):
    """Return the rows of the days before ``day``."""
    return [row for row in rows if row[0] < day]


# -- seasons ----------------------------------------------------------------------------------------------


def season_of(day, south=False):
    """Return the season whose growing year a day lies in."""
    return day.year + 1 if south and day.month >= 7 else day.year


def first_day(season, south=False):
    """Return the first day of a season's traces."""
    return date(season - 1, 7, 1) if south else date(season, 1, 1)


def last_day(season, south=False):
    """Return the last day of a season's traces."""
    return date(season + 1, 1, 31) if south else date(season + 1, 7, 31)


def freeze_year_start(season, south=False):
    """Return the day from which the season's freeze is looked for."""
    return date(season, 2, 1) if south else date(season, 8, 1)


def freeze_year_end(season, south=False):
    """Return the last day of the season's freeze year."""
    return date(season + 1, 1, 31) if south else date(season + 1, 7, 31)


def days_from(first, last):
    """Return every date from the first to the last, both counted."""
    return [first + step * DAY for step in range((last - first).days + 1)]


def growing_days(season, south=False):
    """Return the days of which none may be missing in a complete season."""
    if south:
        return days_from(date(season - 1, 10, 1), date(season, 5, 31))
    return days_from(date(season, 4, 1), date(season, 11, 30))


def complete_seasons(place):
    """Return the seasons with no day missing in their growing part."""
    years = {day.year for day in place.heat}
    return [
        season
        for season in range(min(years) - 1, max(years) + 2)
        if all(day in place.heat for day in growing_days(season, place.south))
    ]


def _same_day(values, day, years_back):
    """Return the value of the day that many years earlier, ``None`` where it is not known."""
    year = day.year - years_back
    try:
        return values.get(date(year, day.month, day.day))
    except ValueError:
        around = values.get(date(year, 2, 28)), values.get(date(year, 3, 1))
        return None if None in around else mean(around)


def _mean_day(values, day, season, seasons):
    known = [_same_day(values, day, season - past) for past in seasons]
    known = [value for value in known if value is not None]
    return mean(known) if known else None


@dataclass(frozen=True)
class Trace:
    """One way the season can go: values by date, and the first day that no longer counts."""

    days: list
    heat: dict
    low: dict
    middle: dict
    freeze: object
    end: date


def traces(place, season):
    """Return one trace for each complete season before this one (or this one alone, where it is complete)."""
    complete = complete_seasons(place)
    past = [other for other in complete if other < season]
    if not past:
        if season not in complete:
            raise ValueError("no complete season before")
        past = [season]
    days = days_from(first_day(season, place.south), last_day(season, place.south))
    made = []
    for other in past:
        series = []
        for values in (place.heat, place.low, place.middle):
            trace = {}
            for day in days:
                value = values.get(day)
                if value is None:
                    value = _same_day(values, day, season - other)
                if value is None:
                    value = _mean_day(values, day, season, past)
                if value is None and values is place.heat:
                    value = 0.0  # a day that no season knows brings no heat, and no frost
                trace[day] = value
            series.append(trace)
        made.append((other, *series))
    freezes = [_freeze(place, season, low) for _, _, low, _ in made]
    if place.estimate is not None:
        freezes = _typed_freezes(place, season, [low for _, _, low, _ in made], freezes)
    result = []
    for (_, heat, low, middle), freeze in zip(made, freezes):
        for_good = _end_for_good(place.stall_at, season, middle, place.south)
        ends = [day for day in (freeze, for_good) if day is not None]
        result.append(Trace(days, heat, low, middle, freeze, min(ends) if ends else days[-1] + DAY))
    return result


def is_freeze(low, at, place):
    """Return whether a low counts as a freeze, with room for a record's rounding."""
    return low <= at + place.room


def room_for_rounding(lows, unit):
    """Return half a tenth of a degree C for lows written in tenths or read in whole degrees F, less for finer ones."""

    def nearly_all(test):
        return sum(map(test, values)) >= 0.95 * len(values)

    values = {low for low in lows if low is not None}
    fahrenheit = {low: low if unit == "F" else low * 1.8 + 32 for low in values}
    celsius = {low: low if unit == "C" else (low - 32) / 1.8 for low in values}
    if (
        nearly_all(lambda low: low == round(low, 1))
        or nearly_all(lambda low: abs(fahrenheit[low] - round(fahrenheit[low])) < 0.0092)
        or nearly_all(lambda low: abs(celsius[low] - round(celsius[low], 1)) < 0.003)
    ):
        return steps(0.05, unit)
    return 0.005 if nearly_all(lambda low: low == round(low, 2)) else 1e-6


def _freeze_days(place, season):
    return days_from(freeze_year_start(season, place.south), freeze_year_end(season, place.south))


def _freeze(place, season, lows):
    for day in _freeze_days(place, season):
        if lows[day] is not None and is_freeze(lows[day], place.frost_at, place):
            return day
    return None


def _end_for_good(limit, season, middles, south=False):
    """Return the day after the last warm week from late summer to midwinter, ``None`` where it is warm till then."""
    if limit is None:
        return None
    first = freeze_year_start(season, south)
    last = date(season, 7, 31) if south else date(season + 1, 1, 31)
    end = first
    for day in days_from(first, last):
        week = [middles[day - back * DAY] for back in range(7)]
        if None not in week and mean(week) >= limit - HAIR:
            end = day + DAY
    return None if end > last else end


# -- frost estimates --------------------------------------------------------------------------------------


def day_number(day, season, south=False):
    """Return the day's number by month and day in a common year, counted from the 31 December before."""
    years = day.year - season
    month_day = (day.month, 28 if (day.month, day.day) == (2, 29) else day.day)
    return (date(2001 + years, *month_day) - date(2000, 12, 31)).days


def day_of_number(number, season):
    """Return the day in a season that has this number in a common year."""
    common = date(2000, 12, 31) + round_half_up(number) * DAY
    return date(season + common.year - 2001, common.month, common.day)


def round_half_up(number):
    """Return the nearest whole number, halves upwards."""
    return math.floor(number + 0.5)


def with_estimate(place, estimates):
    """Return the place with frost estimates: one date, or rows of chance and date."""
    south = place.south

    def number(day):
        # Early in the year means the winter after: January belongs to a freeze year that began in August.
        start = freeze_year_start(day.year, south)
        return day_number(day, day.year if day >= start else day.year - 1, south)

    if place.open_place is None:
        place = replace(place, open_place=place)
    if isinstance(estimates, date):
        return replace(place, estimate=NormalDist(number(estimates), 12))
    points = [(NORMAL.inv_cdf(chance), number(day)) for chance, day in estimates]
    middle_z, middle_day = mean(z for z, _ in points), mean(n for _, n in points)
    products = sum((z - middle_z) * (n - middle_day) for z, n in points)
    slope = products / sum((z - middle_z) ** 2 for z, _ in points)
    return replace(place, estimate=NormalDist(middle_day - slope * middle_z, slope))


def _typed_freezes(place, season, lows, own):
    """Return the estimate's date for each trace, at the rank of the trace's own freeze."""
    days = _freeze_days(place, season)
    known = [day for day in days if day in place.low]
    recorded = [day for day in known if is_freeze(place.low[day], place.frost_at, place)]
    if recorded:
        return [recorded[0]] * len(own)
    keys = []
    for trace, freeze in zip(lows, own):
        lowest = min(trace[day] for day in days if trace[day] is not None)
        keys.append((0, freeze.toordinal()) if freeze else (1, lowest))
    count = len(keys)
    gone = place.estimate.cdf(day_number(known[-1], season, place.south) + 0.5) if known else 0.0
    typed = []
    for key in keys:
        below, same = sum(other < key for other in keys), sum(other == key for other in keys)
        rank = below + (same + 1) / 2
        chance = gone + (rank - 0.5) / count * (1 - gone)
        if chance >= 1 - 1e-12:
            typed.append(None)
            continue
        day = day_of_number(place.estimate.inv_cdf(chance), season)
        typed.append(day if days[0] <= day <= days[-1] else None if day > days[-1] else days[0])
    return typed


def traces_of_normals(lows, highs, estimate, season, base=8, ceiling=36, stall_at=12):
    """Return a hundred traces of one heat, each ended by one of a hundred equally likely frosts; north, °C.

    lows, highs : a value for each of the 365 days of a common year. estimate : a normal law of the day number.
    """
    days = days_from(first_day(season), last_day(season))
    low, high = ({day: values[day_number(day, day.year) - 1] for day in days} for values in (lows, highs))
    heat = {day: heat_of_day(low[day], high[day], base, ceiling) for day in days}
    middle = {day: (low[day] + high[day]) / 2 for day in days}
    for_good = _end_for_good(stall_at, season, middle)
    made = []
    for rank in range(100):
        freeze = day_of_number(estimate.inv_cdf((rank + 0.5) / 100), season)
        made.append(Trace(days, heat, low, middle, freeze, min(freeze, for_good)))
    return made


# -- the answers ------------------------------------------------------------------------------------------


def needed(chance, count):
    """Return how many of the traces make up a chance."""
    return max(math.ceil(chance * count - 1e-9), 1)


def ripe_days(trace, cut, needs, lag=10):
    """Return, for each need, the first day by which the heat is there with the season still on.

    One walk through the days answers all needs; ``None`` where the season ends first.
    """
    days = dict.fromkeys(needs)
    waiting = sorted(needs)
    total = 0.0
    day = cut + lag * DAY
    while waiting and day < trace.end:
        total += trace.heat[day]
        while waiting and total >= waiting[0] - HAIR:
            days[waiting.pop(0)] = day
        day += DAY
    return days


def ripe_day(trace, cut, need, lag=10):
    """Return the ripe day of one need."""
    return ripe_days(trace, cut, (need,), lag)[need]


def heat_to_end(trace, cut, lag=10):
    """Return the heat from the day figs are seen to the season's end."""
    total, day = 0.0, cut + lag * DAY
    while day < trace.end:
        total += trace.heat[day]
        day += DAY
    return total


def ripe_count(all_traces, cut, need, lag=10):
    """Return in how many traces a cut on that day ripens in time, at the need as it stands."""
    return sum(ripe_day(trace, cut, need, lag) is not None for trace in all_traces)


def left_each_day(all_traces):
    """Return, for each day of the season on which figs may be seen, each trace's heat from then to its end."""
    columns = []
    for trace in all_traces:
        total, backwards = 0.0, []
        for day in reversed(trace.days):
            total += trace.heat[day] if day < trace.end else 0.0
            backwards.append(total)
        columns.append(backwards[::-1])
    return list(zip(*columns))


def season_deviation(left, need):
    """Return the standard deviation of the heat left, on the day on which its mean equals the need.

    left : from :func:`left_each_day`. Between days by a straight line; on the season's first day where the mean never
    reaches the need.
    """
    if len(left[0]) == 1:
        return 0.0
    if mean(left[0]) <= need:
        return stdev(left[0])
    later = next(number for number, heats in enumerate(left) if mean(heats) <= need)
    before, after = left[later - 1], left[later]
    part = (mean(before) - need) / (mean(before) - mean(after))
    return stdev(one + part * (other - one) for one, other in zip(before, after))


@dataclass(frozen=True)
class Law:
    """The normal law of a need, widened by what few seasons cannot show."""

    need: float
    deviation: float

    def reached(self, heat, more=0.0):
        """Return the chance that a heat reaches the need and so much more."""
        if self.deviation == 0:
            return float(heat >= self.need + more - HAIR)
        return NORMAL.cdf((heat - self.need - more) / self.deviation)


def law_of(open_left, need, need_spread=0.06, seasons=None):
    """Return the law of a need.

    open_left : :func:`left_each_day` of the open place with its own frosts: by it seasons differ.
    """
    fewness = 2 * season_deviation(open_left, need) ** 2 / (seasons or len(open_left[0]))
    return Law(need, math.sqrt((need_spread * need) ** 2 + fewness))


def open_left(place, season):
    """Return :func:`left_each_day` of the open place."""
    return left_each_day(traces(place.open_place or place, season))


def left_by_date(all_traces, season, lag=10, south=False):
    """Return each trace's heat from figs seen to the end, for every date on which a season's trees could be cut.

    ``None`` for a trace that has ended before.
    """
    first = first_day(season, south)
    final = date(season, 6, 30) if south else date(season, 12, 31)
    return {
        cut: [heat_to_end(trace, cut, lag) if cut + lag * DAY <= trace.end else None for trace in all_traces]
        for cut in days_from(first, final)
    }


def chance_of(left, law):
    """Return the chance of ripe figs from the heat that each trace leaves."""
    return mean(0.0 if heat is None else law.reached(heat) for heat in left)


def latest_of(left, law, chance):
    """Return the last date whose chance is at least the one wanted; ``None`` where no date's is."""
    return max((cut for cut, heats in left.items() if chance_of(heats, law) >= chance), default=None)


def latest_prune_date(all_traces, season, need, chance=0.8, lag=10, south=False):
    """Return the last date of the season good in a share of the traces, at the need as it stands."""
    return latest_of(left_by_date(all_traces, season, lag, south), Law(need, 0.0), chance)


def ripen_window(all_traces, cut, law, picking_heat, lag=10, chance=0.5):
    """Return the first, middle and last ripe date: the first days by which the chance is reached."""
    wanted = [0.0, 0.5 * picking_heat, picking_heat]
    found = []
    sums = [0.0] * len(all_traces)
    day = cut + lag * DAY
    seen = [day <= trace.end for trace in all_traces]
    while len(found) < 3 and day <= all_traces[0].days[-1]:
        sums = [total + (trace.heat[day] if day < trace.end else 0.0) for total, trace in zip(sums, all_traces)]
        while len(found) < 3:
            more = wanted[len(found)]
            if mean(law.reached(total, more) * on for total, on in zip(sums, seen)) < chance:
                break
            found.append(day)
        day += DAY
    return (*found, None, None, None)[:3]


def crop_ripe_share(left, law, picking_heat):
    """Return the expected share of the crop that ripens: the chance of each thousandth of it, added up."""
    if picking_heat == 0:
        return chance_of(left, law)
    parts = [(part + 0.5) / 1000 * picking_heat for part in range(1000)]
    return mean(mean(0.0 if heat is None else law.reached(heat, more) for more in parts) for heat in left)


def _smallest(days, chance):
    place = needed(chance, len(days))
    reached = sorted(day for day in days if day is not None)
    return reached[place - 1] if place <= len(reached) else None


def heat_date(all_traces, start, heat, chance=0.5):
    """Return the day by whose end the heat from ``start`` has come, whatever the season's end."""
    reached = []
    for trace in all_traces:
        total, found = 0.0, None
        for day in trace.days:
            if day >= start:
                total += trace.heat[day]
                if total >= heat - HAIR:
                    found = day
                    break
        reached.append(found)
    return _smallest(reached, chance)


def heat_between(place, start, end):
    """Return the heat of the days from start to end, the end not counted; unknown days as the past's mean.

    ``None`` where no year knows one of the days.
    """
    total, day = 0.0, start
    first_year = min(place.heat).year
    while day < end:
        if day in place.heat:
            total += place.heat[day]
        else:
            past = range(first_year, day.year)
            value = _mean_day(place.heat, day, day.year, past)
            if value is None:
                return None
            total += value
        day += DAY
    return total


def season_end(all_traces, chance=0.5):
    """Return the Hazen quantile of the ends, to the day."""
    ends = sorted(trace.end for trace in all_traces)
    position = min(max(chance * len(ends) + 0.5, 1), len(ends))
    left = math.floor(position)
    right = min(left + 1, len(ends))
    between = (position - left) * (ends[right - 1] - ends[left - 1]).days
    return ends[left - 1] + round_half_up(between) * DAY


# -- dates of first and last freeze by the official rule --------------------------------------------------


def first_freezes(place, at=None):
    """Return ``{season: day number}`` of each usable freeze year's first freeze, ``None`` for a year without one."""
    at = place.frost_at if at is None else at
    numbers = {}
    for season in range(min(place.low).year - 1, max(place.low).year + 1):
        for day in _freeze_days(place, season):
            if day not in place.low:
                break
            if is_freeze(place.low[day], at, place):
                numbers[season] = (day - date(season - 1, 12, 31)).days
                break
        else:
            numbers[season] = None
    return numbers


def last_freezes(place, at=None):
    """Return ``{season: day number}`` of each usable freeze year's last freeze, ``None`` for a year without one."""
    at = place.frost_at if at is None else at
    numbers = {}
    for season in range(min(place.low).year - 1, max(place.low).year + 1):
        middle = date(season - 1, 12, 31) if place.south else date(season, 12, 31)
        for day in reversed(_freeze_days(place, season)):
            if day not in place.low:
                break
            if is_freeze(place.low[day], at, place):
                numbers[season] = (day - middle).days
                break
        else:
            numbers[season] = None
    return numbers


def _moments(place, at, of_year, first):
    """Return mean, standard deviation and share of the official rule; at a position, of what all gains share.

    The standard deviation is the station's. The mean is that of the years in which the station has a freeze, each on
    its date at the position, or on its coldest day where it has none there.
    """
    station = replace(place, low={day: low - place.gain for day, low in place.low.items()}, gain=0.0)
    at_station = of_year(station, at)
    dates = [number for number in at_station.values() if number is not None]
    if not place.gain:
        return mean(dates), stdev(dates), len(dates) / len(at_station)
    assert len(dates) >= len(at_station) / 2, "the reference knows no place where freezes are rare"
    limit = place.frost_at if at is None else at
    moved, have_one = [], 0
    for season, number in at_station.items():
        days = [day for day in _freeze_days(place, season) if day in place.low]
        cold = [day for day in days if is_freeze(place.low[day], limit, place)]
        have_one += bool(cold) or len(days) < len(_freeze_days(place, season))
        lowest = min((place.low[day] for day in days), default=None)
        cold = cold or [day for day in days if place.low[day] == lowest]
        if number is not None:
            there = min(cold) if first else max(cold)
            shift = (there - min(days)).days - (_freeze_of(station, season, at, first) - min(days)).days
            moved.append(number + shift)
    return mean(moved), stdev(dates), have_one / len(at_station)


def _freeze_of(place, season, at, first):
    limit = place.frost_at if at is None else at
    cold = [day for day in _freeze_days(place, season) if day in place.low and is_freeze(place.low[day], limit, place)]
    return min(cold) if first else max(cold)


def first_frost(place, season, chance=0.5, at=None):
    """Return the date with that chance of an earlier first freeze."""
    middle, spread, share = _moments(place, at, first_freezes, True)
    if chance >= share:
        return None
    return day_of_number(middle + spread * NORMAL.inv_cdf(chance / share), season)


def last_frost(place, season, chance=0.5, at=None):
    """Return the spring date with that chance of a later last freeze."""
    middle, spread, share = _moments(place, at, last_freezes, False)
    if chance >= share:
        return None
    number = middle + spread * NORMAL.inv_cdf(1 - chance / share)
    return day_of_number(number, season - 1 if place.south else season)


def frost_chance(place, day, at=None):
    """Return the chance that the first freeze comes on or before the day."""
    middle, spread, share = _moments(place, at, first_freezes, True)
    start = freeze_year_start(day.year, place.south)
    number = day_number(day, day.year if day >= start else day.year - 1, place.south)
    return share * NORMAL.cdf((number + 0.5 - middle) / spread)
