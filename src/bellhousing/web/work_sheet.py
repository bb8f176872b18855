"""The work on a job as the sheet of the job tells it: in a few lines, each leading to its own page."""

from __future__ import annotations

from dataclasses import dataclass

from bellhousing.errors import BellhousingError
from bellhousing.tasks.account_shapes import AccountAnswer
from bellhousing.tasks.accounting import account_of_job
from bellhousing.tasks.building import building, returned
from bellhousing.tasks.building_shapes import BuildAnswer, ReturnedAnswer
from bellhousing.tasks.ledger import ledger_of_job
from bellhousing.tasks.ledger_shapes import LedgerAnswer
from bellhousing.tasks.order_shapes import OrdersAnswer
from bellhousing.tasks.ordering import orders_of_job
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.strip_shapes import StripAnswer
from bellhousing.tasks.stripping import strip_of_job


@dataclass(frozen=True)
class WorkPart:
    """What the sheet shows of strip, build, parts and money; `build` is None where a box has no parts."""

    ledger: LedgerAnswer
    orders: OrdersAnswer
    account: AccountAnswer
    build: BuildAnswer | None
    plan: StripAnswer | None
    why_no_plan: str
    returned: ReturnedAnswer | None

    @property
    def off(self) -> int:
        """How many parts are off."""
        return sum(part.off for part in self.ledger.parts)

    @property
    def begun(self) -> bool:
        """Whether anything was undone."""
        return self.build is not None and bool(self.build.steps)

    @property
    def back(self) -> int:
        """How many steps of the build are done."""
        return 0 if self.build is None else sum(step.done for step in self.build.steps)

    @property
    def next(self) -> str:
        """The one next thing of the work, empty before it began."""
        return self.ledger.five[4] if self.begun else ""


def work_part(shop: Shop, number: int) -> WorkPart:
    """What the sheet of a job shows of the work."""
    plan, build, why = None, None, ""
    try:
        build = building(shop, number)
        if not build.steps:
            plan = strip_of_job(shop, number)
    except BellhousingError as error:
        why = error.what
    return WorkPart(
        ledger=ledger_of_job(shop, number),
        orders=orders_of_job(shop, number, fits=False),
        account=account_of_job(shop, number),
        build=build,
        plan=plan,
        why_no_plan=why,
        returned=returned(shop, number),
    )
