"""A calendar file (RFC 5545): days of a season as entries of a whole day that a later export brings up to date.

An entry keeps its identifier from one export to the next, whatever workbook it comes from. One that is already in the
file and is the same keeps its stamp; one that differs counts one change more; one that is gone is
called off, since a calendar program that has it would keep it otherwise.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone

from icalendar import Alarm, Calendar, Event

from ..cells.errors import FileError

MAKER = "-//sheetfuncs//fig trees//EN"
#: Made once for this project; identifiers of entries are derived from it.
_SPACE = uuid.UUID("6d5b8f0e-3f0b-4c57-9a5e-52c2a1f7d9b4")
#: Before the day begins, which is six in the evening of the day before (judgement).
_REMINDED = timedelta(hours=-6)
_FIRST_DAY_OF_STAMPS = date(2000, 1, 1)
_COMPARED = ("SUMMARY", "DESCRIPTION", "DTSTART", "STATUS", "CATEGORIES")


#: The entries of an earlier export by identifier.
Known = Mapping[str, Event]


@dataclass(frozen=True)
class Entry:
    """One whole day in the calendar.

    kind, tag, season : what the entry is about; they make its identifier. title, text : what a person reads.
    """

    kind: str
    tag: str
    season: int
    day: date
    title: str
    text: str

    @property
    def identifier(self) -> str:
        """The entry's identifier, the same in every export."""
        return str(uuid.uuid5(_SPACE, f"{self.kind}/{self.season}/{self.tag}"))


def calendar_bytes(entries: Sequence[Entry], title: str, stamped_on: date, invented: bool, known: Known) -> bytes:
    """Return a calendar file.

    stamped_on : the day of the answers; it stamps what is new or changed. invented : mark every entry.
    known : the entries that an earlier export left in the file.
    """
    calendar = Calendar()
    calendar.add("PRODID", MAKER)
    calendar.add("VERSION", "2.0")
    # The first is the standard's (RFC 7986), the second what programs have long read.
    for name in ("NAME", "X-WR-CALNAME"):
        calendar.add(name, f"{title} (invented)" if invented else title)
    made = {entry.identifier: _event(entry, invented) for entry in entries}
    for identifier, event in made.items():
        calendar.add_component(_stamped(event, known.get(identifier), stamped_on))
    for identifier, event in known.items():
        if identifier not in made:
            calendar.add_component(_called_off(event, stamped_on))
    return calendar.to_ical()


def called_off(entries: Sequence[Entry], known: Known) -> int:
    """Return how many entries of an earlier export are called off by this one."""
    now = {entry.identifier for entry in entries}
    return sum(identifier not in now and str(event.get("STATUS")) != "CANCELLED" for identifier, event in known.items())


def entries_in(raw: bytes, name: str) -> Known:
    """Return the entries that an earlier export left in a file, by identifier.

    Raises :class:`InputError` where the file is no calendar of ours, and so not ours to replace.
    """
    try:
        calendar = Calendar.from_ical(raw)
        if str(calendar["PRODID"]) == MAKER:
            events = calendar.walk("VEVENT")
            for event in events:
                event["SEQUENCE"], event.decoded("DTSTAMP")
            return {str(event["UID"]): event for event in events}
    except (ValueError, KeyError, IndexError, AttributeError, TypeError):
        pass
    raise FileError(f"{name} is there already and is no calendar made here, wanted another name")


def _event(entry: Entry, invented: bool) -> Event:
    event = Event()
    event.add("UID", entry.identifier)
    event.add("DTSTART", entry.day)
    event.add("DTEND", entry.day + timedelta(days=1))
    event.add("SUMMARY", f"INVENTED: {entry.title}" if invented else entry.title)
    event.add("DESCRIPTION", entry.text)
    event.add("CATEGORIES", [entry.kind])
    event.add("STATUS", "CONFIRMED")
    event.add("TRANSP", "TRANSPARENT")
    reminder = Alarm()
    reminder.add("ACTION", "DISPLAY")
    reminder.add("DESCRIPTION", event["SUMMARY"])
    reminder.add("TRIGGER", _REMINDED)
    event.add_component(reminder)
    return event


def _stamped(event: Event, known: Event | None, stamped_on: date) -> Event:
    """Return an event with its stamp and its count of changes."""
    if known is not None and _compared(known) == _compared(event):
        event.add("DTSTAMP", known.decoded("DTSTAMP"))
        event.add("SEQUENCE", int(known["SEQUENCE"]))
        return event
    # Days since 2000 rise from one export to the next even where the earlier file is gone.
    count = (stamped_on - _FIRST_DAY_OF_STAMPS).days
    event.add("DTSTAMP", datetime(stamped_on.year, stamped_on.month, stamped_on.day, tzinfo=timezone.utc))
    event.add("SEQUENCE", max(count, 0) if known is None else max(count, int(known["SEQUENCE"]) + 1))
    return event


def _compared(event: Event) -> Mapping[str, bytes]:
    return {name: event[name].to_ical() for name in _COMPARED if name in event}


def _called_off(event: Event, stamped_on: date) -> Event:
    if str(event.get("STATUS")) == "CANCELLED":
        return event
    gone = Event()
    for name in ("UID", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "CATEGORIES", "TRANSP"):
        gone.add(name, event[name])
    gone.add("STATUS", "CANCELLED")
    return _stamped(gone, event, stamped_on)
