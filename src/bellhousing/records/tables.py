"""The tables as they stand after the newest migration, for queries; the migrations make them."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

# Written into the head of the file, so that another program's database is known for what it is ("BELL").
APPLICATION_ID = 0x42454C4C
# The newest migration; a test holds it to the scripts, so that the scripts need not be read on each start.
NEWEST = "0010"

# Tables whose rows may be changed; every other is written once, and the database itself sees to it.
CHANGEABLE = frozenset({"cars", "odometer", "jobs", "people", "sessions", "tries", "door_keys", "shares"})


class UtcDateTime(TypeDecorator[datetime]):
    """A moment: stored in UTC, handed back aware, whatever the database makes of time zones."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        in_utc = value.astimezone(UTC)
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

cars = Table(
    "cars",
    metadata,
    Column("slug", String(80), primary_key=True),
    Column("name", String(200), nullable=False),
    Column("box", String(400), nullable=False),
    Column("note", Text, nullable=False),
    Column("owner", String(200)),
    Column("axle_ratio", Float),
    Column("tyre_radius_m", Float),
    Column("altitude_m", Float),
    # Empty on what was written before names were kept with it.
    Column("who", String(200), nullable=False, server_default=""),
)

odometer = Table(
    "odometer",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("car", ForeignKey("cars.slug"), nullable=False, index=True),
    Column("at", UtcDateTime, nullable=False),
    Column("distance_m", Float, nullable=False),
    Column("who", String(200), nullable=False, server_default=""),
)

jobs = Table(
    "jobs",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("car", ForeignKey("cars.slug"), nullable=False, index=True),
    Column("opened_at", UtcDateTime, nullable=False),
    Column("complaint", Text, nullable=False),
    Column("odometer_m", Float),
    Column("key", String(200), unique=True),
    sqlite_autoincrement=True,
)

job_status = Table(
    "job_status",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.number"), nullable=False, index=True),
    Column("at", UtcDateTime, nullable=False),
    Column("status", String(20), nullable=False),
    Column("note", Text, nullable=False),
    Column("who", String(200), nullable=False, server_default=""),
)

findings = Table(
    "findings",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.number"), nullable=False, index=True),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("said", Text, nullable=False),
    Column("finding", String(120)),
    Column("states", JSON, nullable=False),
    Column("word", String(120)),
    Column("value_si", Float),
    Column("unit", String(40)),
    Column("standard_uncertainty", Float),
    Column("unit_assumed", Boolean, nullable=False),
    Column("conditions", JSON, nullable=False),
    Column("supersedes", ForeignKey("findings.id"), unique=True),
    Column("withdrawn", Boolean, nullable=False),
    Column("key", String(200), unique=True),
    CheckConstraint("supersedes IS NULL OR supersedes < id", name="supersedes_earlier"),
    CheckConstraint("supersedes IS NOT NULL OR NOT withdrawn", name="withdrawn_is_of_something"),
    sqlite_autoincrement=True,
)

verdicts = Table(
    "verdicts",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.number"), nullable=False),
    Column("at", UtcDateTime, nullable=False),
    # Text, because a seed may exceed the 64 bits a database integer holds.
    Column("seed", String(80), nullable=False),
    Column("box", String(400), nullable=False),
    Column("box_digest", String(80), nullable=False),
    Column("catalogue_digest", String(80), nullable=False),
    Column("program_version", String(40), nullable=False),
    Column("causes", JSON, nullable=False),
    Column("neglected", Float, nullable=False),
    Column("details", JSON, nullable=False),
    Index(None, "job", "id"),
    sqlite_autoincrement=True,
)

verdict_findings = Table(
    "verdict_findings",
    metadata,
    Column("verdict", ForeignKey("verdicts.id"), primary_key=True),
    Column("finding", ForeignKey("findings.id"), primary_key=True, index=True),
)

confirmed_causes = Table(
    "confirmed_causes",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("change", ForeignKey("job_status.id"), nullable=False, index=True),
    Column("cause", String(120), nullable=False),
    UniqueConstraint("change", "cause"),
    sqlite_autoincrement=True,
)

learning_events = Table(
    "learning_events",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", UtcDateTime, nullable=False),
    Column("event", String(40), nullable=False),
    Column("job", ForeignKey("jobs.number")),
    Column("digest", String(80)),
    Column("data", JSON, nullable=False),
    Column("who", String(200), nullable=False, server_default=""),
    sqlite_autoincrement=True,
)

stock_moves = Table(
    "stock_moves",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("box", String(120), nullable=False),
    Column("part", String(120), nullable=False),
    Column("size_m", Float, nullable=False),
    Column("unit", String(40), nullable=False),
    Column("mark", String(120), nullable=False),
    # How many more, or fewer, lie on the shelf and are on order; what there is now is the sum.
    Column("shelf", Integer, nullable=False),
    Column("on_order", Integer, nullable=False),
    Column("job", ForeignKey("jobs.number")),
    Column("note", Text, nullable=False),
    Index(None, "box", "part"),
    sqlite_autoincrement=True,
)

work_entries = Table(
    "work_entries",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.number"), nullable=False, index=True),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("kind", String(40), nullable=False, index=True),
    Column("subject", String(200), nullable=False),
    Column("data", JSON, nullable=False),
    Column("supersedes", ForeignKey("work_entries.id"), unique=True),
    Column("key", String(200), unique=True),
    CheckConstraint("supersedes IS NULL OR supersedes < id", name="supersedes_earlier"),
    sqlite_autoincrement=True,
)

car_fits = Table(
    "car_fits",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("car", ForeignKey("cars.slug"), nullable=False, index=True),
    Column("job", ForeignKey("jobs.number"), nullable=False),
    # The day of the drives, which is not the moment the fit was kept.
    Column("day", Date, nullable=False),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("box", String(120), nullable=False),
    Column("data", JSON, nullable=False),
    sqlite_autoincrement=True,
)

photos = Table(
    "photos",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.number"), nullable=False, index=True),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    # The file is named by the SHA-256 of its bytes; the same photo may stand at several places.
    Column("digest", String(64), nullable=False, index=True),
    Column("kind", String(10), nullable=False),
    Column("size", Integer, nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    # As the camera's own clock had it, often without a zone, so it is kept as text.
    Column("taken", String(40)),
    Column("name", String(120), nullable=False),
    Column("caption", Text, nullable=False),
    Column("finding", ForeignKey("findings.id")),
    Column("part", String(120), nullable=False),
    Column("step", String(120), nullable=False),
    Column("reason", Text, nullable=False),
    Column("supersedes", ForeignKey("photos.id"), unique=True),
    Column("withdrawn", Boolean, nullable=False),
    Column("key", String(200), unique=True),
    CheckConstraint("supersedes IS NULL OR supersedes < id", name="supersedes_earlier"),
    CheckConstraint("supersedes IS NOT NULL OR NOT withdrawn", name="withdrawn_is_of_something"),
    sqlite_autoincrement=True,
)

people = Table(
    "people",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String(80), nullable=False),
    # The name as names are compared: Anna and ANNA are one person.
    Column("known_as", String(200), nullable=False, unique=True),
    Column("role", String(12), nullable=False),
    # Argon2id with its salt and parameters, never the phrase itself.
    Column("phrase", String(200)),
    Column("made_at", UtcDateTime, nullable=False),
    Column("removed_at", UtcDateTime),
    sqlite_autoincrement=True,
)

people_changes = Table(
    "people_changes",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("person", ForeignKey("people.id"), nullable=False, index=True),
    Column("what", String(80), nullable=False),
    sqlite_autoincrement=True,
)

# What was sent by whom: the address alone, nothing of what was said.
deeds = Table(
    "deeds",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("address", String(200), nullable=False),
    sqlite_autoincrement=True,
)

sessions = Table(
    "sessions",
    metadata,
    # SHA-256 of what the browser holds, so that a copy of the database opens nothing.
    Column("digest", String(64), primary_key=True),
    Column("person", ForeignKey("people.id"), nullable=False, index=True),
    Column("made_at", UtcDateTime, nullable=False),
    Column("seen_at", UtcDateTime, nullable=False),
)

# Failures to be let in: of a name, of an address. The subject is a digest.
tries = Table(
    "tries",
    metadata,
    Column("kind", String(12), primary_key=True),
    Column("subject", String(64), primary_key=True),
    Column("failures", Integer, nullable=False),
    Column("last_at", UtcDateTime, nullable=False, index=True),
    Column("until_at", UtcDateTime, nullable=False),
)

door_keys = Table(
    "door_keys",
    metadata,
    Column("name", String(40), primary_key=True),
    Column("value", String(100), nullable=False),
)

shares = Table(
    "shares",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("digest", String(64), nullable=False, unique=True),
    Column("job", ForeignKey("jobs.number"), nullable=False, index=True),
    Column("page", String(40), nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("expires_at", UtcDateTime, nullable=False),
    Column("revoked_at", UtcDateTime),
    Column("revoked_by", String(200)),
    sqlite_autoincrement=True,
)

service_entries = Table(
    "service_entries",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("car", ForeignKey("cars.slug"), nullable=False, index=True),
    Column("at", UtcDateTime, nullable=False),
    Column("who", String(200), nullable=False),
    Column("rule", String(120), nullable=False),
    # The day it was done, which may lie years before it was noted.
    Column("day", Date, nullable=False),
    Column("odometer_m", Float),
    Column("note", Text, nullable=False),
    Column("supersedes", ForeignKey("service_entries.id"), unique=True),
    Column("withdrawn", Boolean, nullable=False),
    Column("key", String(200), unique=True),
    CheckConstraint("supersedes IS NULL OR supersedes < id", name="supersedes_earlier"),
    sqlite_autoincrement=True,
)
