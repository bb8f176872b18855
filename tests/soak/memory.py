"""The most memory a program held."""

from __future__ import annotations

import re
from pathlib import Path


def most_megabytes() -> int:
    """What this program itself held at most [MiB].

    `resource.getrusage` also counts what whoever started the program held before it became this program.
    """
    status = Path("/proc/self/status").read_text(encoding="ascii")
    found = re.search(r"^VmHWM:\s+(\d+) kB$", status, re.MULTILINE)
    assert found is not None
    return int(found[1]) // 1024
