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
        timeout=60,
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
