"""Photos on a job: added from a camera or a file, shown, put elsewhere, taken back, checked."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import TypedDict, Unpack

from bellhousing.errors import InputFileError, RecordError
from bellhousing.records import pictures
from bellhousing.records.entries import Finding
from bellhousing.records.photo_files import FOLDER, PhotoFiles
from bellhousing.records.photos import LONGEST_NAME, Photo, PhotoFile, Place
from bellhousing.records.pictures import MEDIA_TYPES, read_picture
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.hearing import need_letters
from bellhousing.tasks.noting import WHO, need_open
from bellhousing.tasks.shop import Shop

LARGEST_PHOTO = pictures.LARGEST_PHOTO
ORIGINAL, LARGE, SMALL = "original", "large", "small"
_NOT_IN_A_NAME = re.compile(r"[^\w .()+-]")


class Shows(TypedDict, total=False):
    """Words beside a photo, and the finding, part or step of the job it belongs to."""

    caption: str
    finding: int | None
    part: str
    step: str


class PhotoAnswer(Shape):
    """A photo of a job: what it shows, where it belongs, and what is known of its file.

    `taken` is when the camera says it took it, on the camera's own clock; `said` what was written of the
    finding it belongs to.  `withdrawn` and `reason` tell of one that was taken back.
    """

    number: int
    job: int
    at: str
    who: str
    caption: str
    finding: int | None
    said: str | None
    part: str
    step: str
    taken: str | None
    name: str
    kind: str
    size: int
    width: int
    height: int
    digest: str
    withdrawn: bool = False
    reason: str = ""

    @property
    def title(self) -> str:
        """What to call it: its caption, else what it belongs to, else that it is a photo."""
        return self.caption or self.part or self.said or self.step or f"photo {self.number}"


class PhotoCheck(Shape):
    """What a reading of every photo found: how many there are, which are missing, which were changed.

    `unknown` are files in the folder that no entry speaks of, left by a sending that was cut off.
    """

    photos: int
    missing: tuple[PhotoAnswer, ...]
    changed: tuple[PhotoAnswer, ...]
    unknown: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Whether every photo noted is there as it was sent."""
        return not (self.missing or self.changed)


class BeforeAfter(Shape):
    """The first and the last photo of the same part, finding or step."""

    of: str
    before: PhotoAnswer
    after: PhotoAnswer


def photo_files(shop: Shop) -> PhotoFiles:
    """The folder of a shop's photos, beside its records."""
    return PhotoFiles(shop.folder / FOLDER)


def add_photo(
    shop: Shop,
    job: int,
    data: bytes,
    *,
    name: str,
    who: str = WHO,
    key: str | None = None,
    **shows: Unpack[Shows],
) -> PhotoAnswer:
    """Keep a photo on a job; the same key notes it once, and the same bytes are one file.

    Raises
    ------
    InputFileError : no picture, cut short, damaged, or too large.
    RecordError : no such job, a closed one, no such entry on it, a folder that cannot be written to.
    """
    place = _place(**shows)
    need_open(shop, job)
    called = _safe(name)
    picture = read_picture(data, called)
    # The file comes first: an entry never speaks of a photo that is not there.
    digest = photo_files(shop).keep(data, picture)
    file = PhotoFile(
        digest=digest,
        kind=picture.kind,
        size=len(data),
        width=picture.width,
        height=picture.height,
        taken=picture.taken,
        name=called,
    )
    return _answer(
        shop, shop.store.photos.add(job, file, place, at=shop.clock(), who=shop.signed(who), key=key)
    )


def add_photo_file(shop: Shop, job: int, path: Path, **shows: Unpack[Shows]) -> PhotoAnswer:
    """Keep a photo that lies in a file.

    Raises
    ------
    InputFileError : a file that cannot be read, or as `add_photo`.
    RecordError : as `add_photo`.
    """
    need_open(shop, job)
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_PHOTO + 1)
    except (OSError, ValueError) as error:
        raise InputFileError(
            f"the photo cannot be read: {getattr(error, 'strerror', None) or error}",
            where=str(path)[:200],
            remedy="give the path of a JPEG, PNG or HEIC picture",
        ) from None
    return add_photo(shop, job, data, name=path.name, **shows)


def photos_of_job(
    shop: Shop, job: int, *, finding: int | None = None, part: str | None = None, step: str | None = None
) -> tuple[PhotoAnswer, ...]:
    """The photos that stand on a job in the order noted; of one finding, part or step if asked."""
    return tuple(
        answer
        for answer in _answers(shop, shop.store.photos.on_job(job))
        if (finding is None or answer.finding == finding)
        and (part is None or answer.part == part)
        and (step is None or answer.step == step)
    )


def taken_back_of_job(shop: Shop, job: int) -> tuple[PhotoAnswer, ...]:
    """The photos of a job that were taken back, each with the reason."""
    return tuple(_answers(shop, (entry for entry in shop.store.photos.entries(job) if entry.withdrawn)))


def before_and_after(shop: Shop, job: int) -> tuple[BeforeAfter, ...]:
    """Of each part, finding or step with more than one photo, the first and the last."""
    groups: dict[str, list[PhotoAnswer]] = {}
    for photo in photos_of_job(shop, job):
        of = photo.part or photo.said or photo.step
        if of:
            groups.setdefault(of, []).append(photo)
    return tuple(
        BeforeAfter(of=of, before=photos[0], after=photos[-1])
        for of, photos in groups.items()
        if len(photos) > 1
    )


def change_photo(
    shop: Shop,
    job: int,
    number: int,
    *,
    who: str = WHO,
    key: str | None = None,
    **shows: Unpack[Shows],
) -> PhotoAnswer:
    """Put other words beside a photo or let it belong to something else; the old entry stays in the book.

    Raises
    ------
    RecordError : a closed job, no such photo on it, or one changed or taken back before.
    """
    place = _place(**shows)
    _of_job(shop, job, number)
    need_open(shop, job)
    changed = shop.store.photos.change(number, place, at=shop.clock(), who=shop.signed(who), key=key)
    return _answer(shop, changed)


def withdraw_photo(
    shop: Shop, job: int, number: int, reason: str, *, who: str = WHO, key: str | None = None
) -> PhotoAnswer:
    """Take a photo back; entry and file stay, but it is shown no more among the job's photos.

    Raises
    ------
    RecordError : no reason, a closed job, no such photo on it, or one changed or taken back before.
    """
    need_letters(reason)
    if not reason.strip():
        raise RecordError(
            f"why photo {number} is taken back is not said",
            remedy="say why, for example 'of another car'; the reason stays in the book beside it",
        )
    _of_job(shop, job, number)
    need_open(shop, job)
    return _answer(
        shop,
        shop.store.photos.withdraw(
            number, at=shop.clock(), who=shop.signed(who), reason=reason.strip(), key=key
        ),
    )


def photo_on_job(shop: Shop, job: int, number: int) -> PhotoAnswer:
    """One photo of a job as it stands now, whichever of its entries is named.

    Raises
    ------
    RecordError : no such photo on that job.
    """
    entry = _of_job(shop, job, number)
    later = {other.supersedes: other for other in shop.store.photos.entries(job)}
    while entry.id in later:
        entry = later[entry.id]
    return _answer(shop, entry)


def photo_file(shop: Shop, job: int, digest: str, size: str) -> tuple[Path, str]:
    """The file of a photo of a job and its media type: "original", or the "large" or "small" copy.

    The copies are JPEG, upright, and carry neither place nor camera.

    Raises
    ------
    RecordError : no such photo on that job, no such size, a file that is missing or was changed.
    """
    kind = next((p.file.kind for p in shop.store.photos.entries(job) if p.file.digest == digest), None)
    if kind is None:
        raise RecordError(f"job {job} has no such photo", where=digest[:16])
    path = photo_files(shop).path(digest, kind, size)
    return path, MEDIA_TYPES[kind if size == ORIGINAL else "jpeg"]


def check_photos(shop: Shop) -> PhotoCheck:
    """Read every photo through: which are missing, which are not as they were sent."""
    files = shop.store.photos.files()
    found = photo_files(shop).check(files)
    spoilt = {*found.missing, *found.changed}
    first: dict[str, Photo] = {}
    if spoilt:
        for entry in shop.store.photos.entries():
            if entry.file.digest in spoilt:
                first.setdefault(entry.file.digest, entry)
    return PhotoCheck(
        photos=len(files),
        missing=tuple(_answers(shop, (first[digest] for digest in found.missing))),
        changed=tuple(_answers(shop, (first[digest] for digest in found.changed))),
        unknown=tuple(str(path) for path in found.unknown),
    )


def _place(*, caption: str = "", finding: int | None = None, part: str = "", step: str = "") -> Place:
    for text in (caption, part, step):
        need_letters(text)
    return Place(caption=caption.strip(), finding=finding, part=part.strip(), step=step.strip())


def _of_job(shop: Shop, job: int, number: int) -> Photo:
    entry = shop.store.photos.entry(number)
    if entry.job != job:
        raise RecordError(f"photo {number} is not of job {job}", remedy=f"it is of job {entry.job}")
    return entry


def _safe(name: str) -> str:
    """A file's name without its folders and without what a name may not hold."""
    last = re.split(r"[/\\]", name)[-1]
    return _NOT_IN_A_NAME.sub("_", last).strip(" .")[-LONGEST_NAME:] or "photo"


def _answers(shop: Shop, photos: Iterable[Photo]) -> Iterable[PhotoAnswer]:
    chains: dict[int, dict[int, Finding]] = {}
    for photo in photos:
        if photo.place.finding is not None and photo.job not in chains:
            chains[photo.job] = _as_corrected(shop.store.findings(photo.job))
        entry = chains[photo.job].get(photo.place.finding) if photo.place.finding is not None else None
        yield _shaped(photo, entry)


def _as_corrected(entries: Iterable[Finding]) -> dict[int, Finding]:
    """Each entry of a job by its number, as the last correction of it has it."""
    root: dict[int, int] = {}
    last: dict[int, Finding] = {}
    for entry in entries:
        root[entry.id] = entry.id if entry.supersedes is None else root[entry.supersedes]
        if not entry.withdrawn:  # what a photo shows is still what was written, taken back or not
            last[root[entry.id]] = entry
    return {number: last[first] for number, first in root.items()}


def _answer(shop: Shop, photo: Photo) -> PhotoAnswer:
    return next(iter(_answers(shop, (photo,))))


def _shaped(photo: Photo, finding: Finding | None) -> PhotoAnswer:
    return PhotoAnswer(
        number=photo.id,
        job=photo.job,
        at=photo.at.isoformat(timespec="seconds"),
        who=photo.who,
        caption=photo.place.caption,
        finding=None if finding is None else finding.id,
        said=None if finding is None else finding.said,
        part=photo.place.part,
        step=photo.place.step,
        taken=photo.file.taken,
        name=photo.file.name,
        kind=photo.file.kind,
        size=photo.file.size,
        width=photo.file.width,
        height=photo.file.height,
        digest=photo.file.digest,
        withdrawn=photo.withdrawn,
        reason=photo.reason,
    )
