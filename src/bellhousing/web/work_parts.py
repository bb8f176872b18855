"""Parts to get, hours and money, and what is still open, as their pages show them."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from bellhousing.errors import BellhousingError
from bellhousing.tasks.account_shapes import AccountAnswer
from bellhousing.tasks.accounting import account_of_job
from bellhousing.tasks.ledger_shapes import OpenAnswer
from bellhousing.tasks.order_shapes import OrdersAnswer
from bellhousing.tasks.ordering import orders_of_job
from bellhousing.tasks.shop import Shop
from bellhousing.web.pages import Filled, shop_of
from bellhousing.web.work_frame import Frame, frame_of, work_page
from bellhousing.work.entries import CHECKS, DECLINED, OLD_PARTS, PRICED, STAGES
from bellhousing.work.orders import HARD, SOFT
from bellhousing.work.strip import aimed_at

KINDS = ((SOFT, "Soft kit"), (HARD, "Hard parts"))
HOW_IT_STANDS = (
    ("ordered", "Ordered"),
    ("sent", "Sent off to us"),
    ("fitted", "Fitted"),
    ("returned", "Sent back"),
    ("cancelled", "Cancel"),
)
STAGE_NAMES = {"diagnose": "Diagnosis", "open": "Opening up", "repair": "Repair"}
SAID_HOW = ("in person", "by telephone", "in writing")


@dataclass(frozen=True)
class Tap:
    """One tap that answers an open thing: the deed, its fields, what stands on the button."""

    deed: str
    fields: tuple[tuple[str, str], ...]
    says: str


@dataclass(frozen=True)
class ShownOpen:
    """One open thing with what answers it in a tap, and the page where the rest is said."""

    item: OpenAnswer
    taps: tuple[Tap, ...]
    link: str
    link_says: str


def orders_shown(shop: Shop, frame: Frame, *, fits: bool = False) -> OrdersAnswer:
    """What has to be got, with what the strip as planned will destroy."""
    planned = aimed_at(frame.book.entries) if frame.book.tree is not None else ()
    try:
        return orders_of_job(shop, frame.number, planned=planned, fits=fits)
    except BellhousingError:
        return orders_of_job(shop, frame.number, fits=False)


def parts_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """The page of what has to be got."""
    frame = frame_of(request, number, f"/job/{number}/parts")
    asked = bool(request.query_params.get("fits"))
    orders = orders_shown(shop_of(request), frame, fits=asked)
    box = frame.book.box
    return work_page(
        request,
        "work_parts.html",
        frame,
        filled=filled,
        status=status,
        orders=orders,
        account=account_of_job(shop_of(request), number),
        kinds=KINDS,
        may_choose=box is not None and bool(box.assemblies) and not asked,
        missing=[one.name for one in orders.numbers if not one.value],
        statuses=HOW_IT_STANDS,
        checks=CHECKS,
        old_parts=OLD_PARTS,
    )


def money_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """The page of hours and money."""
    frame = frame_of(request, number, f"/job/{number}/money")
    account: AccountAnswer = account_of_job(shop_of(request), number)
    return work_page(
        request,
        "work_money.html",
        frame,
        filled=filled,
        status=status,
        account=account,
        yes={one.stage: one for one in account.authorities},
        spent={one.stage: one for one in account.stages},
        stages=[(stage, STAGE_NAMES[stage]) for stage in STAGES],
        how=SAID_HOW,
        priced=[kind for kind in PRICED if kind != "part"],
    )


def open_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """The page of what keeps the job open."""
    frame = frame_of(request, number, f"/job/{number}/open")
    return work_page(request, "work_open.html", frame, filled=filled, status=status, items=open_shown(frame))


def open_shown(frame: Frame) -> tuple[ShownOpen, ...]:
    """Everything that keeps a job open, each with its answer one tap away."""
    return tuple(_shown(frame, item) for item in frame.ledger.open)


def _shown(frame: Frame, item: OpenAnswer) -> ShownOpen:
    kind, _, rest = item.id.partition(":")
    subject, _, more = rest.partition(":")
    link, says = _link(frame, kind, subject, more)
    return ShownOpen(item, tuple(_taps(frame, kind, subject, more)), f"/job/{frame.number}/{link}", says)


def _link(frame: Frame, kind: str, subject: str, more: str) -> tuple[str, str]:
    """Where an open thing is answered in full."""
    slot = more.partition(":")[0]
    if kind in ("hole", "empty"):
        return f"flange/{subject}#hole-{slot}", "To its line"
    if kind in ("bolts", "washers", "jack-bolts"):
        return f"flange/{subject}", "To the flange"
    if kind in ("part", "balls", "baseline", "seal", "pocket", "empty-pocket"):
        return f"part/{subject}", "To the part"
    if kind == "torque":
        held = [part.slug for part in frame.book.need_tree().held_by(subject)]
        return f"build#step-{held[0] if held else ''}", "To the build"
    if kind == "gate":
        return f"build#gate-{subject}", "To the build"
    return ("money", "To the money") if kind == "money" else ("parts", "To the parts")


def _taps(frame: Frame, kind: str, subject: str, more: str) -> list[Tap]:
    """What answers an open thing in one tap, where that is enough."""
    slot, _, what = more.partition(":")
    if kind in ("hole", "pocket"):
        fields = (("where", subject), ("number", slot), ("what", what))
        pocket = (("pocket", "1"),) if kind == "pocket" else ()
        return [Tap("answer", (*fields, *pocket, ("how", how)), says) for how, says in _answers(kind, what)]
    ticks = {"bolts": "All back in", "empty": "A new one is in"}
    if kind in ticks:
        fields = (("kind", "bolts-back"), ("flange", subject), ("holes", slot or "as-drawn"))
        return [Tap("bolts", fields, ticks[kind])]
    if kind in ("balls", "empty-pocket"):
        fields = (("kind", "ball-back"), ("part", subject), ("pockets", slot or "as-drawn"))
        return [Tap("balls", fields, "All back in" if kind == "balls" else "A new one is in")]
    simple = {
        "jack-bolts": Tap("puller", (("flange", subject), ("kind", "out"), ("left", "0")), "They are out"),
        "washers": Tap("renewed", (("what", subject),), "All are new"),
        "seal": Tap("renewed", (("what", slot),), "Fitted new"),
        "part": Tap("part", (("part", subject), ("kind", "on")), "It is on again"),
    }
    if kind in simple:
        return [simple[kind]]
    if kind == "gate" and _is_check(frame, subject):
        return [Tap("gate", (("gate", subject), ("said", "done")), "Checked, as it should be")]
    if kind == "old-part":
        return [
            Tap("old-part", (("line", subject), ("what", what)), says)
            for what, says in (("taken-by-owner", "The owner took it"), ("declined", "The owner declined"))
        ]
    if kind == "baseline":
        return [Tap("baseline", fields, says) for fields, says in _declining(frame, subject)]
    return []


def _answers(kind: str, what: str) -> tuple[tuple[str, str], ...]:
    replaced, refitted = ("replaced", "A new one is in"), ("refitted", "Refitted")
    if kind == "hole" and what == "stripped":
        return ("thread-insert", "Thread insert fitted"), replaced
    if what == "missing-on-arrival":
        return (replaced,)
    return refitted, replaced


def _is_check(frame: Frame, slug: str) -> bool:
    return any(gate.slug == slug and gate.kind == "check" for _, gate in frame.book.need_tree().gates())


def _declining(frame: Frame, slug: str) -> list[tuple[tuple[tuple[str, str], ...], str]]:
    left = frame.part(slug).to_measure
    if len(left) != 1:
        return []
    fields = (("part", slug), ("measure", left[0]))
    return [((*fields, ("declined", reason)), reason.replace("-", " ").capitalize()) for reason in DECLINED]
