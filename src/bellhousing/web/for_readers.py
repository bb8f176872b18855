"""Pages where nothing may be written, by a role or on a closed job: without the forms refused there."""

from __future__ import annotations

import re
from collections.abc import Callable

from bellhousing.web.roles import may, role_for

FORM = re.compile(r"<form\b([^<>]*)>.*?</form>", re.DOTALL)
ACTION = re.compile(r'\saction="([^"?#]*)')
SENDING = re.compile(r'\smethod="post"', re.IGNORECASE)
EMPTIED = re.compile(
    r"<details\b[^<>]*>\s*<summary\b[^<>]*>(?:(?!</summary>).)*</summary>\s*</details>"
    r"|<section\b[^<>]*>\s*<h2\b[^<>]*>(?:(?!</h2>).)*</h2>\s*</section>"
    r'|<div class="taps"[^<>]*>\s*</div>',
    re.DOTALL,
)
"""What holds nothing any more but its own name."""

WRITING = ("/note", "/answer", "/complaint", "/entry/", "/leak", "/measure")
"""Ends of the addresses at which a job is written on."""


def without_forms(text: str, role: str, path: str) -> str:
    """A page without the forms a role may not send; what held nothing else goes with them."""
    return _without(text, path, lambda action: may(role, role_for("POST", action)))


def as_closed(text: str, job: str) -> str:
    """The sheet of a closed job, whose address is `job`, without the forms that write on it."""
    return _without(text, job, lambda action: not any(action.startswith(job + end) for end in WRITING))


def _without(text: str, path: str, taken: Callable[[str], bool]) -> str:
    def kept(found: re.Match[str]) -> str:
        action = ACTION.search(found[1])
        sends = SENDING.search(found[1]) is not None
        return "" if sends and not taken((action[1] if action else "") or path) else found[0]

    told = FORM.sub(kept, text)
    if told == text:
        return text
    while True:
        text, told = told, EMPTIED.sub("", told)
        if told == text:
            return told
