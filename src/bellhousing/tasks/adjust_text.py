"""The advice on adjusting in sentences: what to do, why, and what to take care of."""

from __future__ import annotations

from bellhousing.diagnosis.adjusting_advice import Advice
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.quantities.odds import in_100
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si

MM = 1000.0
QUARTERS = {1: "a quarter", 2: "half a", 3: "three quarters of a"}

NEVER_TO_SOFTEN = (
    "Line pressure is never lowered to soften a change: soft changes slip, and slipping burns the linings."
)
SMALL_STEP = {"screw": "one turn", "rod": "one millimetre"}


def unit_of(advice: Advice) -> str:
    """The unit that amounts are told in."""
    return "turn" if advice.adjuster.thing == "screw" else "mm"


def told(advice: Advice, amount: float) -> float:
    """An amount in the unit it is told in."""
    return amount if advice.adjuster.thing == "screw" else amount * MM


def spoken(advice: Advice, amount: float) -> str:
    """An amount in words: "in 2 1/2 turns", "1.5 mm shorter"."""
    if advice.adjuster.thing == "rod":
        return f"{abs(amount) * MM:.3g} mm {'longer' if amount > 0.0 else 'shorter'}"
    whole, quarters = divmod(round(4.0 * abs(amount)), 4)
    way = "in" if amount > 0.0 else "out"
    if whole == 0 and quarters:
        return f"{way} {QUARTERS[quarters]} turn"
    part = {0: "", 1: " 1/4", 2: " 1/2", 3: " 3/4"}[quarters]
    return f"{way} {whole}{part} {'turn' if whole == 1 and not quarters else 'turns'}"


def span(advice: Advice) -> str:
    """The band of what this car may need: "between 5 and 10 turns out"."""
    assert advice.setting is not None
    low, high = (told(advice, end) for end in (advice.setting.needed.low, advice.setting.needed.high))
    unit, ways = ("turns", ("in", "out")) if unit_of(advice) == "turn" else ("mm", ("longer", "shorter"))
    if low < 0.0 < high:
        return f"anything from {-low:.2g} {unit} {ways[1]} to {high:.2g} {unit} {ways[0]}"
    ends = sorted((abs(low), abs(high)))
    return f"between {ends[0]:.2g} and {ends[1]:.2g} {unit} {ways[0] if high > 0.0 else ways[1]}"


def headline(advice: Advice) -> str:
    """What to do, in one sentence."""
    name = advice.adjuster.name
    if advice.state == "adjust":
        assert advice.setting is not None
        verb = "Turn" if advice.adjuster.thing == "screw" else "Set"
        return f"{verb} {name} {spoken(advice, advice.setting.amount)}."
    if advice.state == "one-step":
        assert advice.setting is not None
        up = advice.setting.amount > 0.0
        way = ("in" if up else "out") if advice.adjuster.thing == "screw" else "longer" if up else "shorter"
        step = SMALL_STEP[advice.adjuster.thing]
        verb = "Turn" if advice.adjuster.thing == "screw" else "Set"
        return f"{verb} {name} {step} {way}, measure again, and write both down."
    if advice.state == "measure":
        return f"Measure first: without it nobody can say how far {name} is out."
    if advice.state == "other-cause":
        return f"Do not touch {name}: something else comes first."
    if advice.state == "at-floor":
        return f"Leave {name}: further out would take line pressure below its floor."
    if advice.state == "not-to-soften":
        return f"Leave {name}: nothing measured is too high, so it would only soften a change."
    if advice.state == "on-map":
        return f"Leave {name} where it is: the car is on its map as far as can be told."
    return f"There is nothing to adjust: this box has no such thing as {name}."


def reasons(prepared: Prepared, advice: Advice) -> tuple[str, ...]:
    """What the headline rests on, in sentences."""
    found: list[str] = []
    faults = prepared.catalogue.faults
    for entry in advice.against:
        found.append(
            f"{in_100(entry.cause.probability, entry.cause.error).capitalize()}: {entry.cause.name}. "
            "Adjusting would hide it and not cure it."
        )
    if advice.setting is not None and advice.state != "one-step":
        found.append(f"This car may need {span(advice)} (95 in 100).")
    if advice.setting is not None:
        wrong = faults[advice.adjuster.fault].name
        found.append(f"{wrong}: {in_100(advice.chance)} by what was found before anything was adjusted.")
    found += _on_rate(advice)
    if advice.floor is not None:
        floor = prepared.catalogue.finding(advice.floor)
        found.append(f"Stopped short where {floor.name.lower()} would fall below the low end of its window.")
    if advice.state in ("not-to-soften", "at-floor"):
        found.append(NEVER_TO_SOFTEN)
    if advice.state == "no-adjustment":
        found.append("The box file says so (lacks); what is out of its setting is exchanged.")
    return tuple(found)


def _on_rate(advice: Advice) -> list[str]:
    if advice.state == "one-step":
        thing = "a turn of the screw" if advice.adjuster.thing == "screw" else "a length of the rod"
        example = "screw in 1 turn" if advice.adjuster.thing == "screw" else "rod 1 mm longer"
        return [
            f"The box file does not say what {thing} does, so the first step finds it out: write it as you "
            f"made it (“{example}”), then the same reading again from the same gauge.",
            "Where the part turns out to have no adjustment, write that into the box file under lacks "
            f"({next(part for part in advice.adjuster.parts if part.endswith(advice.adjuster.thing))}).",
        ]
    if advice.rate_source == "learnt" and advice.setting is not None:
        low, _, high = rate_band(advice)
        return [f"Learnt from the readings before and after: {low:.2g} to {high:.2g} {rate_unit(advice)}."]
    return []


def rate_unit(advice: Advice) -> str:
    """The unit of the rate."""
    return "N a turn" if advice.adjuster.thing == "screw" else "of what the box file says"


def rate_band(advice: Advice) -> tuple[float, float, float]:
    """The rate's low, middle and high holding 95 of 100."""
    import math

    assert advice.setting is not None
    rate = advice.setting.rate
    middle = rate.usual * rate.middle
    width = math.exp(1.96 * rate.spread)
    return middle / width, middle, middle * width


def cautions(prepared: Prepared, advice: Advice) -> tuple[str, ...]:
    """What to take care of, where there is anything to do."""
    if advice.state not in ("adjust", "one-step", "measure"):
        return ()
    known = prepared.catalogue.cautions
    wanted = ["hot-exhaust", "fan-and-belts", "held-on-brakes", "exhaust-gas"]
    wanted.insert(0, "plug-the-hose" if advice.adjuster.thing == "screw" else "key-out")
    general = (
        "Mark where it stands and count every turn, so that it can go back; measure again after each change, "
        "on the same gauge, hot, at the same revs and vacuum. The vehicle’s manual comes first.",
        NEVER_TO_SOFTEN,
    )
    return (*general, *(known[name] for name in wanted if name in known))


def reading(value: float, unit: str) -> float:
    """A figure of the answer in its unit, rounded to what it is good for."""
    return float(f"{float(from_si(value, unit)):.4g}")


def shown(value: float, unit: str) -> str:
    """A figure with its unit for people."""
    return show(value, unit)
