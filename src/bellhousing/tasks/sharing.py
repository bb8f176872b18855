"""Links for owners: one page of one job, unguessable, for a time, until revoked."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta

from bellhousing.errors import InputFileError, RecordError
from bellhousing.records.shares import Share
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.letting_in import TooSoon, delay, network_of
from bellhousing.tasks.shop import UNNAMED, Shop

# Pages that may be shown to somebody outside, by name; each shows one job and nothing else.
REPORT, ESTIMATE = "report", "estimate"
PAGES = (REPORT, ESTIMATE)
USUAL_DAYS = 30
MOST_DAYS = 365


class ShareAnswer(Shape):
    """A link as the shop sees it; `token` is there only at the moment it is made."""

    number: int
    job: int
    page: str
    made: str
    who: str
    expires: str
    state: str
    text: str
    token: str | None = None


class NotShown(RecordError):
    """A link that shows nothing: unknown, or `over`, which is expired or revoked; says which."""

    over = False


class Over(NotShown):
    """A link that showed something once."""

    over = True


def share(
    shop: Shop, job: int, page: str = REPORT, *, days: int = USUAL_DAYS, who: str = UNNAMED
) -> ShareAnswer:
    """Make a link to one page of one job; what it opens with is told this once and kept nowhere.

    Raises
    ------
    InputFileError : no page that may be shown, or a time that is too long.
    RecordError : no such job.
    """
    if page not in PAGES:
        raise InputFileError("that page is not shown to others", where=page[:40])
    if not 1 <= days <= MOST_DAYS:
        raise InputFileError(
            "a link holds for some days", where=str(days)[:20], remedy=f"from 1 to {MOST_DAYS} days"
        )
    token = secrets.token_urlsafe(32)
    at = shop.clock()
    made = shop.store.access.shares.add(
        _digest(token), job, page, at=at, who=shop.signed(who), expires=at + timedelta(days=days)
    )
    return _answer(shop, made).model_copy(update={"token": token})


def shares_of(shop: Shop, job: int) -> tuple[ShareAnswer, ...]:
    """The links of a job, newest first, without what opens them; RecordError if there is no such job."""
    shop.store.job(job)
    return tuple(_answer(shop, one) for one in shop.store.access.shares.of_job(job))


def revoke(shop: Shop, job: int, number: int, *, who: str = UNNAMED) -> ShareAnswer:
    """Let a link show nothing any more.

    Raises
    ------
    RecordError : the job has no such link.
    """
    shares = shop.store.access.shares
    return _answer(shop, shares.revoke(number, job, at=shop.clock(), who=shop.signed(who)))


def opened(shop: Shop, token: str, *, address: str) -> Share:
    """The page and the job a link shows; links that are not known cost time, as wrong pass phrases do.

    Raises
    ------
    NotShown : the link is unknown, expired or revoked.
    TooSoon : too many unknown links from that address.
    """
    doors = shop.store.access.doors
    subjects = {"link": _digest(network_of(address))}
    wait = doors.wait_of(subjects, at=shop.clock())
    if wait > timedelta():
        raise TooSoon(wait)
    found = shop.store.access.shares.of_digest(_digest(token[:200]))
    if found is None:
        doors.take_try(subjects, delay, at=shop.clock())
        raise NotShown("this link is not known", remedy="ask the workshop for a new one, or type it again")
    if found.revoked_at is not None:
        raise Over(
            "this link was taken back by the workshop", remedy="ask the workshop if you still need the page"
        )
    if found.expires_at <= shop.clock():
        raise Over(
            f"this link ran out on {found.expires_at.date().isoformat()}",
            remedy="ask the workshop for a new one",
        )
    return found


def _answer(shop: Shop, one: Share) -> ShareAnswer:
    state = "open"
    if one.revoked_at is not None:
        state = "revoked"
    elif one.expires_at <= shop.clock():
        state = "expired"
    until = one.expires_at.date().isoformat()
    told = {
        "open": f"holds until {until}",
        "expired": f"ran out on {until}",
        "revoked": f"taken back by {one.revoked_by}",
    }[state]
    return ShareAnswer(
        number=one.id,
        job=one.job,
        page=one.page,
        made=one.made_at.isoformat(timespec="seconds"),
        who=one.who,
        expires=one.expires_at.isoformat(timespec="seconds"),
        state=state,
        text=f"made {one.made_at.date().isoformat()} by {one.who}, {told}",
    )


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
