"""How it is done without arithmetic: causes tried in an order, each by its cheapest separating look."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from benchmarks.diagnosis.cars import VirtualCar
from benchmarks.diagnosis.judge import Judge
from benchmarks.diagnosis.names import Names
from benchmarks.diagnosis.ours import Step
from ruamel.yaml import YAML

HERE = Path(__file__).resolve().parent
COMPLAINT = "complaint-kind"


@dataclass(frozen=True)
class Trial:
    """One look on the way, when it was done [min], and the fault it names if the answer is yes."""

    look: str
    minutes: float
    names: str | None


@cache
def read_order(stem: str) -> Any:
    """An order fixed in a file of this folder."""
    return YAML(typ="safe", pure=True).load((HERE / f"{stem}.yaml").read_text(encoding="utf-8"))


def cheapest_look(names: Names, fault: str) -> str | None:
    """The cheapest look made to separate a fault, with its set-ups, that has not to be a second look."""
    looks = [look for look in names.looks.values() if fault in look.separates and look.kind == "states"]
    first = [look for look in looks if look.repeats is None] or looks
    return min(first, key=lambda look: (names.minutes(look.id, set()), look.id)).id if first else None


def most_common_first(names: Names) -> list[str]:
    """Faults by their weight."""
    return sorted(names.weights, key=lambda fault: (-names.weights[fault], fault))


def printed(names: Names, car: VirtualCar) -> list[str]:
    """Causes printed under this owner's complaint, in their order."""
    chart: Mapping[str, Sequence[str]] = read_order("printed-order")[names.family]
    return list(chart[car.answers[COMPLAINT].state or "none"])


def try_in_order(
    names: Names, car: VirtualCar, faults: Iterable[str], before: Sequence[str] = ()
) -> list[Trial]:
    """Each cause tried by its cheapest look; a look that serves several causes is done once for the first."""
    opened: set[str] = set()
    minutes = 0.0
    done: list[Trial] = []
    for fault, look in [(None, look) for look in before] + [(f, cheapest_look(names, f)) for f in faults]:
        if look is None or look not in car.answers:
            continue
        if look not in {trial.look for trial in done}:
            minutes += names.minutes(look, opened)
            opened |= set(names.chain(names.looks[look].setup))
        said = car.answers[look].state != names.looks[look].states[0]
        done.append(Trial(look, minutes, fault if said else None))
    return done


def steps_by_hand(judge: Judge, trials: Sequence[Trial], grid: Sequence[float]) -> list[Step]:
    """At each minute the works for what has been named so far."""
    steps = []
    for minute in grid:
        until = [trial for trial in trials if trial.minutes <= minute]
        named = [trial.names for trial in until if trial.names is not None]
        works = judge.cure(list(dict.fromkeys(named)))
        steps.append(Step(minute, len({t.look for t in until}), works, 1.0, dict.fromkeys(named, 1.0)))
    return steps
