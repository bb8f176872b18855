"""`bellhousing job`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import (
    NUMBER,
    json_option,
    leave_not_understood,
    shop_at,
    shop_option,
    tell,
    tell_all,
)


@click.group("job")
def command() -> None:
    """Jobs: one visit of one car."""


@command.command("open")
@click.option("--car", required=True, help="The car, as 'bellhousing car list' names it.")
@click.option("--complaint", required=True, help="The complaint in the owner's own words.")
@click.option("--odometer", help="What the odometer shows, for example '61,240 miles'.")
@shop_option
@json_option
def open_job(car: str, complaint: str, odometer: str | None, shop_folder: Path | None, as_json: bool) -> None:
    """Open a job on a car."""
    from bellhousing.cli import show
    from bellhousing.tasks import opening

    job = opening.open_job(shop_at(shop_folder), car, complaint, odometer=odometer)
    tell(job, as_json, lambda: show.opened(job))


@command.command("list")
@shop_option
@json_option
def list_jobs(shop_folder: Path | None, as_json: bool) -> None:
    """All jobs, newest first."""
    from bellhousing.cli import show
    from bellhousing.tasks import opening

    jobs = opening.jobs(shop_at(shop_folder))
    tell_all(
        list(jobs),
        as_json,
        lambda: (
            show.table(
                (str(job.number), job.status, job.car.name, f"{job.findings} noted", f"“{job.complaint}”")
                for job in jobs
            )
            or "No jobs yet: open one with 'bellhousing job open --car CAR --complaint TEXT'."
        ),
    )


@command.command("show")
@click.argument("job", type=NUMBER)
@shop_option
@json_option
def show_job(job: int, shop_folder: Path | None, as_json: bool) -> None:
    """The sheet of one job: complaint, findings, causes and what to look at next."""
    from bellhousing.cli import show
    from bellhousing.tasks.ranked_jobs import job_sheet

    sheet = job_sheet(shop_at(shop_folder), job)
    head = f"Job {sheet.job.number}, {sheet.job.car.name}: “{sheet.job.complaint}”"
    told = "".join(
        f"{one.status} {one.at[:10]}{one.who and f' by {one.who}'}{one.note and f': {one.note}'}\n"
        for one in sheet.job.changes
    )
    tell(sheet, as_json, lambda: f"{head}\n{told}\n{show.answer(sheet.answer)}")


@command.command("ask")
@click.argument("job", type=NUMBER)
@shop_option
@json_option
def ask(job: int, shop_folder: Path | None, as_json: bool) -> None:
    """The questions about the complaint, with the answers each takes; any may be skipped."""
    from bellhousing.tasks import noting

    questions = noting.interview(shop_at(shop_folder), job)

    def text() -> str:
        lines = []
        for question in questions:
            given = "" if question.given is None else f"  [{question.given}]"
            lines.append(f"{question.finding}: {question.ask}{given}")
            lines.append(
                "    " + ", ".join(f"{choice.answer} ({choice.label})" for choice in question.choices)
            )
        return "\n".join(lines)

    tell_all(list(questions), as_json, text)


@command.command("answer")
@click.argument("job", type=NUMBER)
@click.argument("question")
@click.argument("choice")
@shop_option
@json_option
@click.pass_context
def answer(
    context: click.Context, job: int, question: str, choice: str, shop_folder: Path | None, as_json: bool
) -> None:
    """Answer one QUESTION about the complaint with one of its CHOICES."""
    from bellhousing.cli import show
    from bellhousing.tasks import noting

    noted = noting.answer_question(shop_at(shop_folder), job, question, choice)
    tell(noted, as_json, lambda: "\n".join(show.findings(noted.findings)))
    leave_not_understood(context, noted.problems, as_json)


@command.command("close")
@click.argument("job", type=NUMBER)
@click.option("--why", default="", help="What was done, or why it ends.")
@click.option(
    "--cause",
    "causes",
    multiple=True,
    help="A cause that was confirmed, as 'causes' names it; again for each; 'nothing wrong' for none.",
)
@click.option("--despite", default="", help="The reason to close it although something is open; it is kept.")
@shop_option
@json_option
def close(
    job: int, why: str, causes: tuple[str, ...], despite: str, shop_folder: Path | None, as_json: bool
) -> None:
    """Close a job; nothing of it is lost and it can be opened again.

    What is open in its ledger, its orders or its money keeps it open: each is listed with what answers it.

    With the causes that were confirmed it becomes one of those the shop learns from: see `learn`.
    """
    from bellhousing.tasks import opening

    closed = opening.close_job(shop_at(shop_folder), job, why, causes, despite=despite)
    tell(closed, as_json, lambda: f"Job {closed.number} is {closed.status}.")


@command.command("reopen")
@click.argument("job", type=NUMBER)
@click.option("--why", default="", help="Why it is opened again.")
@shop_option
@json_option
def reopen(job: int, why: str, shop_folder: Path | None, as_json: bool) -> None:
    """Open a closed job again."""
    from bellhousing.tasks import opening

    opened = opening.reopen_job(shop_at(shop_folder), job, why)
    tell(opened, as_json, lambda: f"Job {opened.number} is {opened.status}.")
