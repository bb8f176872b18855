"""The command line answers at once: what is heavy is loaded by the command that needs it."""

from __future__ import annotations

import subprocess
import sys

HEAVY = frozenset(
    {
        "numpy",
        "scipy",
        "sqlalchemy",
        "alembic",
        "psycopg",
        "vl_convert",
        "starlette",
        "uvicorn",
        "jinja2",
        "rapidfuzz",
        "polars",
        "ortools",
    }
)


def loaded(*arguments: str) -> set[str]:
    """Top-level packages that a command line loads."""
    ran = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "bellhousing", *arguments],
        capture_output=True,
        text=True,
        timeout=600,
        check=True,
    )
    lines = (
        line.rpartition("|")[2].strip() for line in ran.stderr.splitlines() if line.startswith("import time:")
    )
    return {name.partition(".")[0] for name in lines}


def test_help_loads_nothing_heavy() -> None:
    """Asking for help loads neither arrays nor a database nor a web server."""
    names = loaded("--help")
    assert "click" in names
    assert names & HEAVY == set()


def test_a_findings_file_needs_no_database() -> None:
    """What answers a findings file is loaded without the records' library, a data frame or a solver."""
    program = "import sys, bellhousing.tasks.file_answers; print(*sys.modules)"
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, timeout=600, check=True
    )
    names = {name.partition(".")[0] for name in ran.stdout.split()}
    assert "numpy" in names
    assert names & {"sqlalchemy", "alembic", "polars", "ortools", "vl_convert", "jinja2", "scipy"} == set()
