"""The small sums of the bench that have a form on its page, in their groups."""

from __future__ import annotations

from bellhousing.web.tools_bolts import BOLTS, PULLING
from bellhousing.web.tools_packs import PACKS
from bellhousing.web.tools_rings import RINGS

GROUPS = (
    ("packs", "Packs and bands", PACKS),
    ("rings", "Rings and gaskets", RINGS),
    ("bolts", "Bolts", BOLTS),
    ("pulling", "Pulling with two screws", PULLING),
)
TOOLS = {tool.id: tool for _, _, tools in GROUPS for tool in tools}
