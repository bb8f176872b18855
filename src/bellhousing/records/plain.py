"""Plain data as text: the one way it is written into the databases, and read back."""

from __future__ import annotations

import json
from typing import Any


def to_json(value: Any) -> str:
    """Plain data as text that reads back as the same; a figure that is none is refused (ValueError)."""
    return json.dumps(value, allow_nan=False, ensure_ascii=False, sort_keys=False)


def from_json(text: str | bytes) -> Any:
    """Plain data from its text."""
    return json.loads(text)
