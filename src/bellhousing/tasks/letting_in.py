"""Letting people in: pass phrases asked, failures slowed down, sessions opened, looked up and ended."""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import math
import secrets
from datetime import timedelta

from bellhousing.errors import BellhousingError
from bellhousing.records.people import Person, known_as
from bellhousing.tasks.people import LONGEST_PHRASE, normal
from bellhousing.tasks.shop import Shop

# A working day without a touch, and a week in all.
IDLE = timedelta(hours=12)
LIFE = timedelta(days=7)
# Failures that cost nothing, and the longest wait after many more, by name and by address.
FREE = {"name": 3, "address": 10, "link": 10}
LONGEST_WAIT = {
    "name": timedelta(minutes=15),
    "address": timedelta(minutes=5),
    "link": timedelta(minutes=5),
}


class NotLetIn(BellhousingError):
    """The name or the pass phrase is wrong; which of them is not said."""


class TooSoon(BellhousingError):
    """Too many failures: how long to wait [s]."""

    def __init__(self, wait: timedelta) -> None:
        self.seconds = max(1, math.ceil(wait.total_seconds()))
        told = f"{self.seconds} s" if self.seconds < 100 else f"{math.ceil(self.seconds / 60)} minutes"
        super().__init__("that was tried too often", remedy=f"wait {told}, then try again")


def delay(kind: str, failures: int) -> timedelta:
    """How long nothing is tried after so many failures: doubled with each, up to the longest wait [s]."""
    beyond = failures - FREE[kind]
    if beyond <= 0:
        return timedelta()
    return min(LONGEST_WAIT[kind], timedelta(seconds=2.0 ** min(beyond, 20)))


def let_in(shop: Shop, name: str, phrase: str, *, address: str) -> tuple[Person, str]:
    """The person of a name and pass phrase, and what the browser is to hold for the session.

    An unknown name takes as long and gets the same answer as a wrong pass phrase, and its failures are
    counted the same.

    Raises
    ------
    NotLetIn : the name or the pass phrase is wrong.
    TooSoon : too many failures of that name, or from that address.
    """
    subjects = {"name": _digest(known_as(name[:400])), "address": _digest(network_of(address))}
    wait = shop.store.access.doors.take_try(subjects, delay, at=shop.clock())
    if wait > timedelta():
        raise TooSoon(wait)
    person = shop.store.access.people.find(name[:400])
    kept = None if person is None else person.phrase
    held = None
    if shop.phrases.matches(kept, normal(phrase[: LONGEST_PHRASE + 1])):
        assert person is not None
        assert kept is not None
        held = _opened(shop, person, kept, phrase)
    if person is None or held is None:
        raise NotLetIn("the name or the pass phrase is wrong", remedy="look at both and try again")
    shop.store.access.doors.forgive(subjects)
    return person, held


def who_is_it(shop: Shop, held: str) -> Person | None:
    """Whose session a browser holds, None for one that is forged, over or ended."""
    token, _, signature = held.partition(".")
    if len(held) > 200 or not hmac.compare_digest(_signature(shop, token).encode(), signature.encode()):
        return None
    return shop.store.access.doors.person_of(_digest(token), at=shop.clock(), idle=IDLE, life=LIFE)


def let_out(shop: Shop, held: str) -> None:
    """End the session a browser holds."""
    shop.store.access.doors.end_session(_digest(held.partition(".")[0]))


def network_of(address: str) -> str:
    """What counts as one address: one of version 4, or the network part of one of version 6."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv4Address):
        return str(found)
    if found.ipv4_mapped is not None:
        return str(found.ipv4_mapped)
    return str(ipaddress.ip_network((found, 64), strict=False))


def _opened(shop: Shop, person: Person, kept: str, phrase: str) -> str | None:
    token = secrets.token_urlsafe(32)
    doors = shop.store.access.doors
    if shop.phrases.is_weak(kept):
        stronger = shop.phrases.hashed(normal(phrase))
        shop.store.access.people.refresh_phrase(person.id, kept, stronger)
        kept = stronger
    # New at every login: what the browser held before says nothing of who is there now.
    if not doors.open_session(_digest(token), person.id, kept, at=shop.clock(), life=LIFE):
        return None
    return f"{token}.{_signature(shop, token)}"


def _signature(shop: Shop, token: str) -> str:
    return hmac.new(shop.signing_key, token.encode("utf-8", "replace"), hashlib.sha256).hexdigest()


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()
