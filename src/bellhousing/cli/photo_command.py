"""`bellhousing photo`: photos of a job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell, tell_all

if TYPE_CHECKING:
    from bellhousing.tasks.photos import PhotoAnswer, PhotoCheck


@click.group("photo")
def command() -> None:
    """Photos of a job: add one, list them, put its words right, take one back, check them all."""


def _line(photo: PhotoAnswer) -> str:
    parts = [f"{photo.number}", photo.title, f"{photo.width} × {photo.height} {photo.kind}"]
    if photo.part and photo.part != photo.title:
        parts.append(f"of {photo.part}")
    if photo.said and photo.said != photo.title:
        parts.append(f"of finding {photo.finding}, “{photo.said}”")
    if photo.step and photo.step != photo.title:
        parts.append(f"at {photo.step}")
    parts.append(f"taken {photo.taken.replace('T', ' ')}" if photo.taken else "no time in it")
    return "  ".join((parts[0], ", ".join(parts[1:])))


@command.command("add")
@click.argument("job", type=NUMBER)
@click.argument("photo", type=click.Path(path_type=Path))
@click.option("--caption", default="", help="What it shows.")
@click.option("--finding", type=NUMBER, help="Number of the finding it belongs to.")
@click.option("--part", default="", help="The part it shows.")
@click.option("--step", default="", help="The step of the job it was taken at.")
@shop_option
@json_option
def add(
    job: int,
    photo: Path,
    caption: str,
    finding: int | None,
    part: str,
    step: str,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Keep PHOTO (JPEG, PNG or HEIC) on JOB; the same one at the same place is kept once."""
    from bellhousing.tasks.photos import add_photo_file

    answer = add_photo_file(
        shop_at(shop_folder), job, photo, caption=caption, finding=finding, part=part, step=step
    )
    tell(answer, as_json, lambda: f"Kept as photo {_line(answer)}")


@command.command("list")
@click.argument("job", type=NUMBER)
@shop_option
@json_option
def show(job: int, shop_folder: Path | None, as_json: bool) -> None:
    """The photos of JOB."""
    from bellhousing.tasks.photos import photos_of_job

    found = photos_of_job(shop_at(shop_folder), job)
    nothing = f"Job {job} has no photo: bellhousing photo add {job} PHOTO"
    tell_all(list(found), as_json, lambda: "\n".join(map(_line, found)) or nothing)


@command.command("change")
@click.argument("job", type=NUMBER)
@click.argument("number", type=NUMBER)
@click.option("--caption", help="What it shows.")
@click.option("--finding", type=NUMBER, help="Number of the finding it belongs to.")
@click.option("--part", help="The part it shows.")
@click.option("--step", help="The step of the job it was taken at.")
@shop_option
@json_option
def change(
    job: int,
    number: int,
    caption: str | None,
    finding: int | None,
    part: str | None,
    step: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Put other words beside photo NUMBER of JOB; what is not named stays as it was."""
    from bellhousing.tasks.photos import change_photo, photo_on_job

    shop = shop_at(shop_folder)
    old = photo_on_job(shop, job, number)
    answer = change_photo(
        shop,
        job,
        number,
        caption=old.caption if caption is None else caption,
        finding=old.finding if finding is None else finding,
        part=old.part if part is None else part,
        step=old.step if step is None else step,
    )
    tell(answer, as_json, lambda: f"Now photo {_line(answer)}")


@command.command("withdraw")
@click.argument("job", type=NUMBER)
@click.argument("number", type=NUMBER)
@click.argument("reason", nargs=-1)
@shop_option
@json_option
def withdraw(job: int, number: int, reason: tuple[str, ...], shop_folder: Path | None, as_json: bool) -> None:
    """Take back photo NUMBER of JOB; REASON stays in the book beside it, and so does the file."""
    from bellhousing.tasks.photos import withdraw_photo

    answer = withdraw_photo(shop_at(shop_folder), job, number, " ".join(reason))
    tell(answer, as_json, lambda: f"Taken back: {answer.title}; {answer.reason}")


@command.command("check")
@shop_option
@json_option
@click.pass_context
def check(context: click.Context, shop_folder: Path | None, as_json: bool) -> None:
    """Read every photo through; exit status 1 if one is missing or was changed."""
    from bellhousing.tasks.photos import check_photos

    found = check_photos(shop_at(shop_folder))
    tell(found, as_json, lambda: "\n".join(_checked(found)))
    if not found.sound:
        context.exit(1)


def _checked(found: PhotoCheck) -> list[str]:
    lines = [f"{found.photos} {'photo' if found.photos == 1 else 'photos'} read through."]
    for what, spoilt in (("missing", found.missing), ("changed or damaged", found.changed)):
        lines += [f"{what}: photo {_line(photo)}, job {photo.job}, file {photo.digest}" for photo in spoilt]
    if not found.sound:
        lines.append("Put back the last good copy of the folder, or add the same photos again.")
    if found.unknown:
        lines.append(f"{len(found.unknown)} left by a sending that was cut off; they belong to no job.")
    return lines
