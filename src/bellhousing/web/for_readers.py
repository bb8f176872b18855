"""Pages for somebody who may look and not write: without the forms the shop would refuse from them."""

from __future__ import annotations

import re

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


def without_forms(text: str, role: str, path: str) -> str:
    """A page without the forms a role may not send; what held nothing else goes with them."""
    told = FORM.sub(lambda found: found[0] if _may_send(found[1], role, path) else "", text)
    if told == text:
        return text
    while True:
        text, told = told, EMPTIED.sub("", told)
        if told == text:
            return told


def _may_send(form: str, role: str, path: str) -> bool:
    if not SENDING.search(form):
        return True
    action = ACTION.search(form)
    return may(role, role_for("POST", (action[1] if action else "") or path))
