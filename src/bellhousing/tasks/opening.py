"""Cars and jobs: add a car, open, list, close and reopen jobs."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import UTC
from pathlib import Path

from bellhousing.diagnosis.catalogue import Fault
from bellhousing.errors import BellhousingError, RecordError
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si
from bellhousing.records.entries import Car, Job
from bellhousing.tasks import noting
from bellhousing.tasks.answers import CarAnswer, JobAnswer, JobChangeAnswer
from bellhousing.tasks.closing import settle
from bellhousing.tasks.counting import NOTHING
from bellhousing.tasks.findings_file import DEFAULT_BOX, car_figure
from bellhousing.tasks.hearing import need_letters
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Book, read_book, until_kept

LONGEST_NAME = 200
LONGEST_COMPLAINT = 4000
AT_ONCE = 500
MOST_NAMED = 40
FURTHEST = 3.2e9  # two million miles [m]: no odometer shows more


def open_car(
    shop: Shop,
    name: str,
    *,
    box: str = DEFAULT_BOX,
    axle_ratio: str | None = None,
    tyre_radius: str | None = None,
    altitude: str | None = None,
    note: str = "",
) -> CarAnswer:
    """Add a car by the name the shop calls it; figures as typed, None where not known.

    Raises
    ------
    RecordError : no name, or a name that is taken.
    BoxFileError : a box that does not exist or cannot be used.
    BellhousingError : a figure no car can have.
    """
    title = " ".join(name.split())
    need_letters(name + box + note)
    if not title or len(title) > LONGEST_NAME:
        raise RecordError(
            "a car needs a name", remedy=f"what the shop calls it, at most {LONGEST_NAME} letters"
        )
    figures = {"axle_ratio": axle_ratio, "tyre_radius": tyre_radius, "altitude": altitude}
    read = {
        key: car_figure(key, text, called=key.replace("_", " "))
        for key, text in figures.items()
        if text is not None and text.strip()
    }
    car = Car(
        slug=_slug(title),
        name=title,
        box=_box_name(shop, box),
        note=note.strip(),
        axle_ratio=read.get("axle_ratio"),
        tyre_radius_m=read.get("tyre_radius"),
        altitude_m=read.get("altitude"),
        who=shop.who,
    )
    try:
        return car_answer(shop.store.add_car(car))
    except RecordError as error:
        if any(known.slug == car.slug for known in shop.store.cars()):
            raise RecordError(
                "there is a car of that name", where=title, remedy="give it another name"
            ) from None
        raise error


def _box_name(shop: Shop, box: str) -> str:
    name = box.strip()
    path = Path(box)
    try:
        if shop.names_files and (path.suffix in (".yaml", ".yml") or path.is_file()):
            name = str(path.resolve())
    except (OSError, ValueError):
        # No file can be called that; whoever reads the box says so.
        pass
    shop.box(name)
    return name


def _slug(title: str) -> str:
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().casefold()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:80].strip("-")
    if not slug:
        raise RecordError("a car's name needs letters or figures", where=title)
    return slug


def cars(shop: Shop) -> tuple[CarAnswer, ...]:
    """All cars of the shop, by name."""
    return tuple(car_answer(car) for car in shop.store.cars())


def find_car(shop: Shop, name: str) -> Car:
    """A car by its slug or its name.

    Raises
    ------
    RecordError : there is none, naming those there are.
    """
    title = " ".join(name.split())
    try:
        # A slug is made of the name, so that most cars are found without a look at all of them.
        near = shop.store.car(_slug(title))
    except RecordError:
        near = None
    wanted = title.casefold()
    if near is not None and wanted in (near.slug, near.name.casefold()):
        return near
    known = shop.store.cars()
    for car in known:
        if wanted in (car.slug, car.name.casefold()):
            return car
    listed = ", ".join(car.slug for car in known[:MOST_NAMED]) + (" …" if len(known) > MOST_NAMED else "")
    remedy = f"the cars are: {listed}" if known else "add it first"
    raise RecordError(f"there is no car '{name}'", remedy=remedy)


def open_job(
    shop: Shop, car: str, complaint: str, *, odometer: str | None = None, key: str | None = None
) -> JobAnswer:
    """Open a job on a car, the complaint verbatim; `key` makes sending it twice open it once.

    What the complaint says is kept as findings of the owner's, which count for less than what was looked at.

    Raises
    ------
    RecordError : no such car, or no complaint.
    QuantityError : an odometer reading that cannot be read.
    """
    if not complaint.strip() or len(complaint) > LONGEST_COMPLAINT:
        raise RecordError(
            "a job needs a complaint", remedy=f"the owner's own words, at most {LONGEST_COMPLAINT} letters"
        )
    need_letters(complaint)
    owned = find_car(shop, car)
    distance = None
    if odometer is not None and odometer.strip():
        distance = parse_measured(odometer, usual_unit="mile", possible=(0.0, FURTHEST)).value
    job = shop.store.open_job(
        owned.slug, complaint=complaint, at=shop.clock(), who=shop.who, odometer_m=distance, key=key
    )
    try:
        kept = noting.note_complaint(shop, job.number, complaint, key=key)
    except BellhousingError as error:
        return job_answer(shop, job).model_copy(update={"problems": (str(error),)})
    update = {"heard": kept.findings, "problems": kept.problems}
    return job_answer(shop, job).model_copy(update=update)


def close_job(
    shop: Shop, number: int, why: str = "", causes: Sequence[str] = (), *, despite: str = ""
) -> JobAnswer:
    """Close a job, with the causes that were confirmed (slugs or names), or NOTHING where none was found.

    What is open in the book of work keeps it open; `despite` is the written reason to close all the same.

    Raises
    ------
    RecordError : no such job, one that is closed, or a cause that this kind of box does not have.
    StillOpenError : something is open and there is no reason in writing.
    """
    kind = shop.kind_of(shop.store.job(number).car)
    known = shop.catalogue.faults if kind is None else shop.catalogue.of_family(kind).faults
    confirmed = [_cause(known, cause) for cause in causes if cause.strip()]
    if NOTHING in confirmed and len(set(confirmed)) > 1:
        raise RecordError("nothing wrong, and a cause as well", remedy="confirm the one or the other")

    def attempt(book: Book) -> Job:
        seen = settle(book, despite)
        return shop.store.close_job(
            number, at=shop.clock(), who=shop.who, note=why, causes=confirmed, after=seen
        )

    return job_answer(shop, until_kept(read_book(shop, number), attempt))


def _cause(known: Mapping[str, Fault], said: str) -> str:
    """The slug of a cause said by its slug or its name."""
    wanted = " ".join(said.split()).casefold()
    if wanted in (NOTHING, NOTHING.replace("-", " ")):
        return NOTHING
    names = {fault.name.casefold(): slug for slug, fault in known.items()}
    if wanted in known:
        return wanted
    if wanted in names:
        return names[wanted]
    near = difflib.get_close_matches(wanted, [*known, *names, NOTHING], n=2)
    remedy = f"did you mean {' or '.join(near)}?" if near else "see the causes of the job"
    raise RecordError(f"there is no cause '{said[:80]}' on this kind of box", remedy=remedy)


def reopen_job(shop: Shop, number: int, why: str = "") -> JobAnswer:
    """Open a closed job again; RecordError if there is none or it is open."""
    return job_answer(shop, shop.store.reopen_job(number, at=shop.clock(), who=shop.who, note=why))


def jobs(shop: Shop) -> tuple[JobAnswer, ...]:
    """All jobs, newest first."""
    numbers = [job.number for job in shop.store.jobs()]
    found = []
    for begin in range(0, len(numbers), AT_ONCE):
        for one in shop.store.job_list.listed(numbers[begin : begin + AT_ONCE]):
            causes = () if one.verdict is None else one.verdict.causes
            leading = causes[0].get("name") if causes else None
            found.append(job_answer_of(one.job, car_answer(one.car), one.noted, leading))
    return tuple(found)


def job(shop: Shop, number: int) -> JobAnswer:
    """One job; RecordError if there is none."""
    return job_answer(shop, shop.store.job(number))


def car_answer(car: Car) -> CarAnswer:
    """A car as it is shown."""
    return CarAnswer(
        slug=car.slug,
        name=car.name,
        box=car.box,
        axle_ratio=car.axle_ratio,
        tyre_radius=None if car.tyre_radius_m is None else show(car.tyre_radius_m, "m", digits=3),
        altitude=None if car.altitude_m is None else show(car.altitude_m, "m"),
        note=car.note,
    )


def job_answer(shop: Shop, job: Job) -> JobAnswer:
    """A job with the leading cause of its last verdict, and who opened and closed it."""
    verdicts = shop.store.verdicts(job.number)
    leading = verdicts[-1].causes[0].get("name") if verdicts and verdicts[-1].causes else None
    noted = len(shop.store.current_findings(job.number))
    changes = tuple(
        JobChangeAnswer(
            at=one.at.astimezone(UTC).isoformat(timespec="seconds"),
            status=one.status,
            who=one.who,
            note=one.note,
        )
        for one in shop.store.status_changes(job.number)
    )
    answer = job_answer_of(job, car_answer(shop.store.car(job.car)), noted, leading)
    return answer.model_copy(update={"changes": changes})


def job_answer_of(job: Job, car: CarAnswer, noted: int, leading: str | None) -> JobAnswer:
    """A job as the list shows it, of what is at hand already."""
    return JobAnswer(
        number=job.number,
        car=car,
        complaint=job.complaint,
        opened=job.opened_at.astimezone(UTC).isoformat(timespec="seconds"),
        status=job.status,
        odometer=None if job.odometer_m is None else f"{from_si(job.odometer_m, 'mile'):,.0f} miles",
        findings=noted,
        leading=leading,
    )


def problem_of(error: BellhousingError) -> str:
    """One clear sentence for what was refused."""
    return str(error)
