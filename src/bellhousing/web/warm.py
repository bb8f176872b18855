"""Templates made ready before anybody asks: the first page at once, the others while nobody waits."""

from __future__ import annotations

import threading

from jinja2.meta import find_referenced_templates

from bellhousing.quantities.turn import INCH, METRIC
from bellhousing.tasks.settings_terms import settings_or_usual
from bellhousing.tasks.shop import Shop
from bellhousing.web.pages import environment

FIRST = ("base.html", "list_macros.html", "macros.html", "start.html")
NEXT = ("job.html", "work_base.html", "work_strip.html", "work_build.html", "report.html", "problem.html")


def first_page(shop: Shop) -> None:
    """Make the templates of the first page ready, in the shop's own words and units."""
    _ready(shop, FIRST)


def other_pages(shop: Shop, stop: threading.Event | None = None) -> None:
    """Make the templates of a job ready, with all they include; `stop` ends it between two."""
    for name in NEXT:
        if stop is not None and stop.is_set():
            return
        _ready(shop, (name,))


def _ready(shop: Shop, names: tuple[str, ...]) -> None:
    settings = settings_or_usual(shop)
    found = environment(settings.words, METRIC if settings.units == "metric" else INCH)
    waiting = list(names)
    seen: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        found.get_template(name)
        loader = found.loader
        assert loader is not None
        tree = found.parse(loader.get_source(found, name)[0])
        waiting += [one for one in find_referenced_templates(tree) if one is not None]
