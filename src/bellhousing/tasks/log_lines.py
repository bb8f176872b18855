"""What happens, as JSON lines: when, how grave, where in the program, what; nothing of what the shop holds.

Only the fixed words of a message are told, never what was put into them, and of a mishap its kind and the
places in the program, never its text: a name, a number plate or a sentence of an owner cannot slip in.
"""

from __future__ import annotations

import json
import logging
import traceback
from datetime import UTC, datetime
from pathlib import Path
from typing import TextIO

PLACES = 8


class JsonLines(logging.Formatter):
    """One event to a line."""

    def format(self, record: logging.LogRecord) -> str:
        told = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "what": str(record.msg)[:200],
            **getattr(record, "fields", {}),
        }
        if record.exc_info and record.exc_info[0] is not None:
            told["error"] = record.exc_info[0].__name__
            told["places"] = [
                f"{Path(frame.filename).name}:{frame.lineno} {frame.name}"
                for frame in traceback.extract_tb(record.exc_info[2])[-PLACES:]
            ]
        return json.dumps(told, ensure_ascii=False)


def tell_as_lines(stream: TextIO) -> None:
    """Tell of everything this program does, and of what goes wrong in others, as JSON lines."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.WARNING)
    logging.getLogger("bellhousing").setLevel(logging.INFO)
