"""The `bellhousing` command: loads only the command asked for, and turns errors into one line."""

from __future__ import annotations

import importlib
import io
import json
import os
import sys
from collections.abc import Sequence

import click

COMMANDS = {
    "demo": "Start the web app with an invented shop: three cars, one of them mid-job.",
    "serve": "Start the web app on your own shop's data.",
    "people": "Who may come in when the app is open to the workshop: pass phrases, roles, a certificate.",
    "settings": "The shop's own words and habits: units, words, theme, name, rate, tax, who writes.",
    "box": "Boxes: which there are, what is known of one, a blank file to fill in, keeping your own.",
    "car": "Cars of the shop: list them, add one.",
    "job": "Jobs: open one, list them, show one, answer the questions about the complaint.",
    "note": "Write down what was found, in the trade's own words.",
    "photo": "Photos of a job: add one, list them, take one back, check that all are there.",
    "causes": "The causes in order, with what speaks for and against each (JOB or FILE).",
    "next": "What to look at next, what it takes and what it would tell (JOB or FILE).",
    "leaks": "Where it leaks, and when the level leaves the stick (JOB or FILE).",
    "plan": "What to do, in which order, what else there is and what it costs (JOB or FILE).",
    "strip": "What must come off, in order, to reach a part: least work, cautions, what to measure first.",
    "build": "What goes back in which order, torques by rounds, and the gates it must pass with a number.",
    "adjust": "How far to turn the modulator's screw or change the linkage rod, or why not (JOB or FILE).",
    "learn": "What closed jobs have taught, and the shop's anonymous tally out and in.",
    "road": "Drives: simulate one, read the log of one to gears, shifts and slip, or add it to a job.",
    "due": "What service is due, by time or distance; what was done; calendar file and letters.",
    "report": "The report of a job to the car's owner, or the estimate: shown, or as PDF.",
    "share": "Links by which an owner sees one report: make one, list them, take one back.",
    "prove": "Before and after on one page: how surely the car now shifts as a sound one.",
    "fit": "This car's own governor, modulator, regulator and valves, from its shifts and pressures.",
    "measure": "Write down what was measured at the bench, judged against its window.",
    "bench": "What the measured parts explain of what the car showed (JOB or FILE).",
    "fits": "Which washer, snap ring, plate and pin go where, and what to order (JOB or FILE).",
    "margins": "What clutches and bands hold at each line pressure, over what full throttle asks, and heat.",
    "pack": "What a pack of plates or a band holds, from its own measures.",
    "stock": "Selective parts on the shelf and on order: list, add, use, count.",
    "seal": "Which standard ring belongs in a measured groove, and what age leaves of its squeeze.",
    "bolt": "Torque to preload, what a tapped hole bears, when an insert is due, in which order to tighten.",
    "pull": "Pulling a part with two screws: largest safe torque, quarter turns alternately, when to stop.",
    "ledger": "Bolts, balls, seals and parts of a job: what is out, bagged, back, not as drawn, open.",
    "order": "What has to be got for a job: the list, what is on order, what came, what blocks the job.",
    "hours": "Hours and money of a job: authorisations, variations, totals with tax.",
    "backup": "Back up the shop into its own folder, and see that it can be put back.",
    "restore": "Put a backup back; what is there now is kept beside it.",
    "check": "Read the whole shop through and say what to do for each thing that is wrong.",
    "export": "Everything of the shop into one open archive.",
    "import": "Take such an archive into a shop that holds nothing yet.",
    "move": "Move the records between a file and a PostgreSQL server, every row compared.",
    "shift-map": "The predicted shift map against what was driven (JOB or FILE).",
}


class LazyGroup(click.Group):
    """A group that knows its commands by name and loads a command's module only when it is run."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"bellhousing.cli.{cmd_name.replace('-', '_')}_command")
        command = module.command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            import difflib

            near = difflib.get_close_matches(args[0], COMMANDS, n=1)
            remedy = f"did you mean '{near[0]}'?" if near else f"the commands are: {', '.join(COMMANDS)}"
            raise click.UsageError(f"there is no command '{args[0]}': {remedy}", ctx)
        return super().resolve_command(ctx, args)


@click.command(cls=LazyGroup, no_args_is_help=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="bellhousing", message="%(prog)s %(version)s")
def bellhousing() -> None:
    """From what was found on a hydraulic automatic gearbox to its cause and the next test.

    Where a command takes JOB or FILE, digits alone are the number of a job; anything else is a findings
    file, which needs no database.  Every command takes --json.

    Exit status: 0 done; 1 refused, or something that was said is not understood and only kept as a note;
    2 no such command or option; 70 a mishap inside the program.
    """


def main(argv: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a letter shows a question mark, and the answer still comes.
            stream.reconfigure(errors="replace")
    sys.exit(run(sys.argv[1:] if argv is None else list(argv)))


def run(arguments: Sequence[str]) -> int:
    """Run one command and return its exit status: 0 done, 1 refused or not all understood, 2 no command."""
    as_json = "--json" in arguments
    try:
        status = bellhousing.main(args=list(arguments), prog_name="bellhousing", standalone_mode=False)
        sys.stdout.flush()
        return status if isinstance(status, int) else 0
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except (click.exceptions.Abort, KeyboardInterrupt):
        return 130
    except click.exceptions.NoArgsIsHelpError as help_shown:
        click.echo(help_shown.format_message())
        return 2
    except click.ClickException as error:
        where = getattr(error, "ctx", None)
        named = "bellhousing" if where is None else where.command_path
        _complain(error.format_message().rstrip("."), None, f"see {named} --help", as_json)
        return error.exit_code
    except BrokenPipeError:
        # The reader closed the pipe (head, less): nothing is left to say, not even at shutdown.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        return _refuse(error, as_json)


def _refuse(error: Exception, as_json: bool) -> int:
    from bellhousing.errors import BellhousingError

    if isinstance(error, BellhousingError):
        what = "\n  ".join((error.what, *getattr(error, "problems", ())))
        _complain(what, error.where, error.remedy, as_json)
        return 1
    if os.environ.get("BELLHOUSING_DEBUG"):
        raise error
    _complain(
        f"something went wrong inside the program: {type(error).__name__}: {error}",
        None,
        "set BELLHOUSING_DEBUG=1 and run the command again to see where",
        as_json,
    )
    return 70


def _complain(what: str, where: str | None, remedy: str | None, as_json: bool) -> None:
    if as_json:
        click.echo(
            json.dumps({"error": {"what": what, "where": where, "remedy": remedy}}, ensure_ascii=False)
        )
        return
    first, *rest = what.split("\n")
    line = first if where is None else f"{first} ({where})"
    click.echo("\n".join((line if remedy is None else f"{line}: {remedy}", *rest)), err=True)
