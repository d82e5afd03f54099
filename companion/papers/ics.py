"""What is due beyond the job, as a calendar that other programs read (RFC 5545)."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from companion.harmless import harmless
from companion.job.facts.sayings import Priority

if TYPE_CHECKING:
    from icalendar import Alarm, Event

_UIDS = UUID("0d3c1c0e-6f0b-4b3a-9a58-5f1f0f6b7a21")
"""A name space of our own, drawn at random once."""

# RFC 5545, 3.8.1.9: 1 to 4 is high, 5 medium, 6 to 9 low.
_PRIORITY = {Priority.DANGER: 1, Priority.URGENT: 3, Priority.ROUTINE: 5}
_REPEATS = 3
_REPEAT_EVERY = timedelta(minutes=5)


@dataclass(frozen=True)
class DueEntry:
    """Something that will be due."""

    what: str
    due: datetime
    """Aware."""
    job: str
    vehicle: str = ""
    priority: Priority = Priority.ROUTINE
    deadline: str = ""
    """Its id within the job; with it, an entry that is moved stays the same entry in the calendar."""
    running: str = ""
    """What it is until it is due."""

    def uid(self) -> str:
        """The same for the same entry whenever the calendar is written again."""
        key = self.deadline or f"{self.what}@{self.due.astimezone(UTC).isoformat()}"
        return str(uuid5(_UIDS, f"{self.job}\n{key}"))


def calendar_of(entries: Sequence[DueEntry], stamp: datetime) -> bytes:
    """A VCALENDAR with an event and a DISPLAY alarm for each entry; `stamp` says when it was written.

    Alarms that are more than routine repeat. Entries with the same UID are one event, the last of them.
    ValueError for a time without a zone.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//Bonnet companion//Due//EN")
    calendar.add("version", "2.0")
    by_uid = {entry.uid(): entry for entry in entries}
    for entry in sorted(by_uid.values(), key=lambda entry: (entry.due, entry.uid())):
        calendar.add_component(_event(entry, _utc(stamp)))
    return bytes(calendar.to_ical())


def _utc(moment: datetime) -> datetime:
    if moment.tzinfo is None:
        raise ValueError(f"{moment} has no time zone")
    # RFC 5545 counts in whole seconds; rounded up, so that nothing is due early.
    whole = moment.astimezone(UTC).replace(microsecond=0)
    return whole + timedelta(seconds=1) if moment.microsecond else whole


def _words(text: str) -> str:
    """Harmless, line by line: icalendar writes the ends of lines so that they stay within the text."""
    return "\n".join(map(harmless, text.replace("\r\n", "\n").split("\n")))


def _event(entry: DueEntry, stamp: datetime) -> "Event":
    from icalendar import Event

    event = Event()
    event.add("uid", entry.uid())
    event.add("dtstamp", stamp)
    event.add("dtstart", _utc(entry.due))
    event.add("summary", _words(f"{entry.vehicle}: {entry.what}" if entry.vehicle else entry.what))
    event.add("description", _words(f"Job: {entry.job}"))
    event.add("priority", _PRIORITY[entry.priority])
    event.add("transp", "TRANSPARENT")
    event.add_component(_alarm(entry))
    return event


def _alarm(entry: DueEntry) -> "Alarm":
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _words(entry.what))
    alarm.add("trigger", timedelta(0))
    if entry.priority is not Priority.ROUTINE:
        # REPEAT and DURATION go together (RFC 5545, 3.6.6).
        alarm.add("repeat", _REPEATS)
        alarm.add("duration", _REPEAT_EVERY)
    return alarm
