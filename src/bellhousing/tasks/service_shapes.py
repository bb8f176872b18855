"""The shapes of the service plan: what is due on which car, in which order, and what would tell more."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class ServiceRuleAnswer(Shape):
    """One service as the shop has set it: how often, and for which kind of box."""

    rule: str
    name: str
    todo: str
    every: str
    why: str
    source: str


class DueAnswer(Shape):
    """One service of one car.

    `state` is overdue, soon, cannot tell or later; `by` says day and reading; `day` is the day to plan for,
    null where there is none; `expected` the days between which the reading is expected with 9 in 10, in
    words; `passed` the probability that its distance has passed by now.
    """

    car: str
    car_name: str
    rule: str
    name: str
    todo: str
    state: str
    day: str | None
    by: str
    by_day: str | None
    by_odometer: str | None
    expected: str
    passed: float
    first: str
    last: str
    last_day: str | None
    why: str
    would_tell: str
    risk: int
    season: str
    minutes: float
    because: str


class ServiceDoneAnswer(Shape):
    """A service that was noted as done; `number` takes it back."""

    number: int
    rule: str
    name: str
    day: str
    odometer: str
    note: str
    who: str


class CarDueAnswer(Shape):
    """The service plan of one car; `habit` says what its odometer tells, `advice` what standing asks for."""

    car: str
    name: str
    owner: str
    odometer: str
    habit: str
    due: tuple[DueAnswer, ...]
    done: tuple[ServiceDoneAnswer, ...]
    advice: tuple[str, ...]


class ServicePlanAnswer(Shape):
    """The service plan of the shop: what `due --json` gives.

    `order` is what to do first over all cars: overdue, soon, and what cannot be told.
    """

    today: str
    cars: tuple[CarDueAnswer, ...]
    order: tuple[DueAnswer, ...]
    rules: tuple[ServiceRuleAnswer, ...]
    said: str = ""
