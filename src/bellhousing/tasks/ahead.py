"""Models worked out before anybody asks, so that no page waits for them."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from contextlib import suppress

from bellhousing.errors import BellhousingError
from bellhousing.tasks.preparation import MOST_IN_MEMORY
from bellhousing.tasks.ranked_jobs import causes_of_job
from bellhousing.tasks.shop import Shop

NEWEST = 200
"""Open jobs looked through for cars to prepare, from the newest on."""
RECKONED = 20


def prepare_ahead(shop: Shop, stop: threading.Event | None = None) -> int:
    """Prepare the models of the cars with open jobs, the newest job's first; how many there are.

    A box that cannot be used is left for its own page to tell of; `stop` ends it between two cars.
    """
    done = 0
    opened = shop.store.job_list.open_numbers()[:NEWEST]
    for slug in dict.fromkeys(one.job.car for one in shop.store.job_list.listed(opened)):
        if done >= MOST_IN_MEMORY or (stop is not None and stop.is_set()):
            break
        try:
            shop.bench(shop.prepared(shop.store.car(slug)))
        except BellhousingError:
            continue
        done += 1
    _reckon(shop, opened, stop)
    return done


def _reckon(shop: Shop, opened: Sequence[int], stop: threading.Event | None) -> None:
    """Work out the causes of the newest open jobs nobody has looked at: the list then knows what is next."""
    for one in shop.store.job_list.listed(opened[:RECKONED]):
        if stop is not None and stop.is_set():
            return
        if one.noted and (one.verdict is None or "next" not in one.verdict.details):
            with suppress(BellhousingError):
                causes_of_job(shop, one.job.number)
