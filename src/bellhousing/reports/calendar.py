"""Days to keep in mind as an iCalendar file (RFC 5545): whole days, each with a lasting name of its own."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

PRODUCT = "-//Bellhousing//Service plan//EN"
NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "urn:bellhousing:service")
AHEAD = timedelta(days=14)


@dataclass(frozen=True)
class Reminder:
    """One day: `name` tells it from all others and never changes, so that a new file replaces the old day."""

    name: str
    day: date
    summary: str
    text: str


def calendar_file(reminders: Sequence[Reminder], *, title: str, at: datetime) -> bytes:
    """The reminders as a calendar file made at a moment; each reminds a fortnight ahead."""
    from icalendar import Alarm, Calendar, Event, vText

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    # Not one of the standard's own names, so that its text is not escaped unless it is said to be text.
    calendar.add("x-wr-calname", vText(" ".join(_plain(title).split())))
    for reminder in sorted(reminders, key=lambda one: (one.day, one.name)):
        event = Event()
        event.add("uid", f"{uuid.uuid5(NAMESPACE, reminder.name)}@bellhousing")
        event.add("dtstamp", at.astimezone(UTC).replace(microsecond=0))
        event.add("dtstart", reminder.day)
        event.add("dtend", reminder.day + timedelta(days=1))
        event.add("summary", _plain(reminder.summary))
        event.add("description", _plain(reminder.text))
        event.add("transp", "TRANSPARENT")
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", _plain(reminder.summary))
        alarm.add("trigger", -AHEAD)
        event.add_component(alarm)
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _plain(text: str) -> str:
    """Text without control letters, which no calendar may hold."""
    return "".join(sign for sign in text if sign == "\n" or sign == "\t" or sign.isprintable())
