"""What stands beside a probability in the words of the page: its error, factors such as "× 9", "÷ 1.8"."""

from __future__ import annotations

import math

from bellhousing.quantities.odds import NEARLY_ALL, NEARLY_NONE, in_100

NO_CHANGE = "no change"
STRONGEST = 1000.0


def error_in_100(probability: float, error: float) -> str:
    """The standard error beside `in_100`: "± 1", "± under 1", nothing where that is a bound already."""
    if not NEARLY_NONE <= probability <= NEARLY_ALL:
        return ""
    return f"± {100.0 * error:.0f}" if error >= 0.005 else "± under 1"


def left_out(probability: float) -> str:
    """What is said of larger sets of causes that were not counted; nothing where they are under 1 in 100."""
    if probability < NEARLY_NONE:
        return ""
    return f"More causes at once than were counted: about {in_100(probability)}."


def factor(value: float) -> str:
    """What a finding did to the odds: "× 9", "÷ 1.8", "no change"."""
    if value <= 0.0:
        return f"÷ over {STRONGEST:.0f}"
    sign, size = ("×", value) if value >= 1.0 else ("÷", 1.0 / value)
    if size < 1.05:
        return NO_CHANGE
    if size > STRONGEST:
        return f"{sign} over {STRONGEST:.0f}"
    return f"{sign} {size:.0f}" if size >= 9.95 else f"{sign} {size:.1f}".removesuffix(".0")


def factor_in_words(value: float) -> str:
    """The same as a sentence's end: "makes it 9 times likelier", "makes it 1.8 times less likely"."""
    text = factor(value)
    if text == NO_CHANGE:
        return "changes nothing"
    return f"makes it {text[2:]} times {'likelier' if text[0] == '×' else 'less likely'}"


def bar_length(value: float) -> float:
    """Signed length of a factor's bar [1]: its decimal logarithm halved, held within -1 and 1."""
    if value <= 0.0:
        return -1.0
    return max(-1.0, min(1.0, math.log10(value) / 2.0))
