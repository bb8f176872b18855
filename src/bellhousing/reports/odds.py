"""Probabilities and factors in the words of the page: "74 in 100", "× 9", "÷ 1.8"."""

from __future__ import annotations

import math

NO_CHANGE = "no change"
STRONGEST = 1000.0


def in_100(probability: float) -> str:
    """A probability as odds in a hundred, never "certain": "74 in 100", "more than 99 in 100"."""
    if probability > 0.99:
        return "more than 99 in 100"
    if probability < 0.01:
        return "less than 1 in 100"
    return f"{100.0 * probability:.0f} in 100"


def error_in_100(error: float) -> str:
    """A standard error as a number in a hundred: "± 1", "± under 1"."""
    return f"± {100.0 * error:.0f}" if error >= 0.005 else "± under 1"


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
