"""What somebody must be to open an address: one table, by the first part of the address.

What is not in the table is the proprietor's alone; a test holds every route of the app to the table.
"""

from __future__ import annotations

from bellhousing.tasks.people import ROLES
from bellhousing.web.guard import SAFE_METHODS

ANYBODY = "anybody"
READER, MECHANIC, PROPRIETOR = ROLES
NOTHING = None

# First part of the address, without .json: who may look, who may send.
AREAS: dict[str, tuple[str | None, str | None]] = {
    "": (READER, NOTHING),
    "shop": (READER, NOTHING),
    "job": (READER, MECHANIC),
    "jobs": (READER, MECHANIC),
    "car": (READER, MECHANIC),
    "cars": (READER, MECHANIC),
    "box": (READER, MECHANIC),
    "boxes": (READER, MECHANIC),
    "bench": (READER, MECHANIC),
    "stock": (READER, MECHANIC),
    "due": (READER, MECHANIC),
    "evening": (READER, READER),
    "learn": (READER, PROPRIETOR),
    "settings": (READER, PROPRIETOR),
    "openapi": (READER, NOTHING),
    "people": (PROPRIETOR, PROPRIETOR),
    # Only what concerns the reader's own browser.
    "unit": (NOTHING, READER),
    "logout": (NOTHING, ANYBODY),
    "login": (ANYBODY, ANYBODY),
    "shared": (ANYBODY, NOTHING),
    "static": (ANYBODY, NOTHING),
    "worker.js": (ANYBODY, NOTHING),
    "health": (ANYBODY, NOTHING),
}


def role_for(method: str, path: str) -> str | None:
    """The least role an address asks for, None where the table says nothing of it."""
    if path != "/" and not path.split("/")[1]:
        return None
    look, send = AREAS.get(path.split("/")[1].removesuffix(".json"), (NOTHING, NOTHING))
    return look if method in SAFE_METHODS else send


def may(role: str, wanted: str | None) -> bool:
    """Whether somebody of a role may open what asks for another."""
    if role not in ROLES:
        return False
    if wanted == ANYBODY:
        return True
    return ROLES.index(role) >= ROLES.index(PROPRIETOR if wanted is None else wanted)
