"""Models worked out before anybody asks, so that no page waits for them."""

from __future__ import annotations

import threading

from bellhousing.errors import BellhousingError
from bellhousing.records.entries import CLOSED
from bellhousing.tasks.preparation import MOST_IN_MEMORY
from bellhousing.tasks.shop import Shop


def prepare_ahead(shop: Shop, stop: threading.Event | None = None) -> int:
    """Prepare the models of the cars with open jobs, the newest job's first; how many there are.

    A box that cannot be used is left for its own page to tell of; `stop` ends it between two cars.
    """
    done = 0
    for slug in dict.fromkeys(job.car for job in shop.store.jobs() if job.status != CLOSED):
        if done >= MOST_IN_MEMORY or (stop is not None and stop.is_set()):
            break
        try:
            shop.bench(shop.prepared(shop.store.car(slug)))
        except BellhousingError:
            continue
        done += 1
    return done
