"""What no plan can beat: the fewest trees left, and the fewest days, at least.

Trees cut into pieces that may be spread over days can only do better than whole trees, and how pieces of one size do
best is known. Each of several measures of a tree gives such a bound.
"""

from __future__ import annotations

from bisect import insort
from typing import NamedTuple, Sequence

#: Measures looked at (judgement: more find little).
MEASURES = 8
#: Stretches of days looked at for trees left (judgement: all, for 200 trees in a season).
STRETCHES = 20_000


class Work(NamedTuple):
    """Trees to pack. Days are numbers from 0 to ``days`` − 1; minutes and room are whole, in any small unit."""

    ready: tuple[int, ...]
    latest: tuple[int, ...]
    minutes: tuple[int, ...]
    room: int
    days: int


class Measure(NamedTuple):
    """sizes, room : pieces of each tree and of a day, such that trees which fit into a day never exceed its room."""

    sizes: tuple[int, ...]
    room: int


def measures(work: Work) -> list[Measure]:
    """Return ways to measure trees, the most telling first.

    * The minutes themselves; a day counts no more than the most that some trees together fill.
    * With a day cut into parts, how many parts a tree more than fills: trees of one day fill one part less than all.
    * The shortest trees not counted, and a tree that leaves no room for one of the others as a whole day.

    The last two are dual feasible functions, as used for bins (Fekete & Schepers, "New classes of fast lower bounds
    for bin packing problems", Mathematical Programming 2001, doi:10.1007/s101070100243).
    """
    room = most_filled(work.minutes, work.room)
    ways = [
        Measure(tuple(max(0, -(-parts * size // room) - 1) for size in work.minutes), parts - 1)
        for parts in range(2, 7)
    ]
    for least in sorted({size for size in work.minutes if 2 * size <= room})[1:]:
        sizes = (0 if size < least else room if size > room - least else size for size in work.minutes)
        ways.append(Measure(tuple(sizes), room))
    ways.sort(key=lambda way: -sum(way.sizes) / way.room)
    return [Measure(work.minutes, room), *ways[: MEASURES - 1]]


def most_filled(minutes: Sequence[int], room: int) -> int:
    """Return the most minutes of a day that some of the trees together fill."""
    sums, within = 1, (1 << (room + 1)) - 1
    for size in minutes:
        sums |= (sums << size) & within
    return sums.bit_length() - 1


def lost_and_days(work: Work, way: Measure, trees: Sequence[int], day: int, spare: int) -> tuple[int, int]:
    """Return how many trees are lost, and how many days are needed, at least, if one starts on a day.

    spare : how many trees may be left. If pieces are lost, so are the few longest trees that make them up. Each piece
    left on top of those saves a day at most.
    """
    ready, latest, sizes = work.ready, work.latest, way.sizes
    pieces = [(max(ready[tree], day), latest[tree], sizes[tree]) for tree in trees if sizes[tree]]
    over, days = pieces_lost_and_days(pieces, way.room)
    if not over and not spare:
        return 0, days
    falling = sorted((count for _, _, count in pieces), reverse=True)
    longest = sum(falling[:spare])
    whole = -(-(sum(falling) - longest) // way.room)
    return _fewest_to_make_up(over, falling), max(whole, days - max(0, longest - over))


def least_left(work: Work, ways: Sequence[Measure]) -> int:
    """Return how many trees are left at least: the most over stretches of days that share none."""
    trees = range(len(work.ready))
    least = max(lost_and_days(work, way, trees, 0, 0)[0] for way in ways)
    starts, ends = sorted(set(work.ready), reverse=True), sorted(set(work.latest))
    if not least or len(starts) * len(ends) > STRETCHES:
        return least
    over = {(start, end): 0 for start in starts for end in ends}
    for way in ways:
        inside: dict[int, list[int]] = {end: [] for end in ends}
        for start in starts:
            begun = [tree for tree in trees if work.ready[tree] == start]
            for end in ends:
                for tree in begun:
                    if work.latest[tree] <= end:
                        insort(inside[end], way.sizes[tree])
                total = sum(inside[end]) - way.room * (end - start + 1)
                if start <= end and total > 0:
                    over[start, end] = max(over[start, end], _fewest_to_make_up(total, inside[end][::-1]))
    best = [0] * (work.days + 1)  # for the days before each
    for end in range(work.days):
        best[end + 1] = max(
            [best[end], *(best[start] + over[start, end] for start in starts if over.get((start, end)))]
        )
    return max(least, best[-1])


def _fewest_to_make_up(total: int, falling: Sequence[int]) -> int:
    """Return how many of some falling numbers make up a total at least."""
    count = 0
    while total > 0:
        total -= falling[count]
        count += 1
    return count


def pieces_lost_and_days(pieces: Sequence[tuple[int, int, int]], room: int) -> tuple[int, int]:
    """Return the fewest pieces lost, and then the fewest days, where each day takes so many pieces.

    pieces : (first day, last day, how many). The two phases of "lazy activation", as for trees of equal minutes
    (:func:`.rounds.due_days`), with like pieces moved together.
    """
    due, lost = _pieces_due(sorted(pieces, key=lambda piece: piece[1]), room)
    days = 0
    for place, (day, _, count) in enumerate(due):
        if not count:
            continue
        days += 1
        free = room
        for later in range(place, len(due)):
            piece = due[later]
            if piece[2] and piece[1] <= day:
                taken = min(free, piece[2])
                piece[2] -= taken
                free -= taken
                if not free:
                    break
    return lost, days


def _pieces_due(coming: list[tuple[int, int, int]], room: int) -> tuple[list[list[int]], int]:
    """Return pieces as [day due, first day, how many], days rising, and how many are lost."""
    due: list[list[int]] = []
    waiting: list[tuple[int, int]] = []
    lost = day = 0
    while waiting or coming:
        day = day - 1 if waiting else coming[-1][1]
        while coming and coming[-1][1] >= day:
            first, _, count = coming.pop()
            insort(waiting, (first, count))
        free = room
        while free and waiting:
            first, count = waiting.pop()
            taken = min(count, free)
            free -= taken
            due.append([day, first, taken])
            if count > taken:
                waiting.append((first, count - taken))
        while waiting and waiting[-1][0] >= day:
            lost += waiting.pop()[1]
    due.reverse()
    return due, lost
