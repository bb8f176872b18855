"""What a line says of how a reading was taken: the instrument, and which try it was."""

from __future__ import annotations

import re
from dataclasses import dataclass

AGAIN = "again"
"""What stands for the number of a try that follows the last one."""

_NUMBERS = {"first": "1", "second": "2", "third": "3", "fourth": "4", "fifth": "5", "sixth": "6"}
_WORDS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6"}
_KINDS = (
    r"gauges?|stop[- ]?watch|watch|tacho(?:meter)?|tach|rev[- ]counter|dwell[- ]meter|thermometer"
    r"|speedo(?:meter)?|gps|dial[- ](?:gauge|indicator)|phone|rule|ruler|calipers?|laser|probe|scan[- ]tool"
)
_NOT_A_FIGURE = r"(?![\d.,]*\d|\s*(?:psi|bar|kpa|inhg|in\b|\"|mph|km|rpm|s\b|sec|deg|°|%|lb))"
_MARK = rf"(?:\s+(?:no\.?|number|#)?\s*(?P<mark>[1-9]{_NOT_A_FIGURE}|[abcefghijkm](?![\w'])))?"
_BEFORE = r"(?:(?:the|a|an|my|our|your|another|other)\s+)?"
_NAMED = r"(?:(?!\d+ psi\b)[\w-]+\s+|\d+ psi\s+|\d+ bar\s+|\d+ (?:inhg|kpa)\s+){0,3}?"
_WITH = re.compile(
    r"[,(]?\s*\b(?:read(?:ing)? )?(?:with|using|on|by|off)\s+"
    rf"(?P<name>{_BEFORE}{_NAMED}(?:{_KINDS}){_MARK})(?![\w-])\)?",
    re.IGNORECASE,
)
_BARE = re.compile(
    r"(?P<name>\b(?:(?:pressure|vacuum|oil)\s+)?gauge\s+(?:no\.?\s*|number\s+|#\s*)?"
    rf"(?P<mark>[1-9]{_NOT_A_FIGURE}|[abcefghijkm](?![\w']))|\b\d+\s*(?:psi|bar)\s+gauge\b"
    r"|\bstop[- ]?watch\b|\bgps\b)",
    re.IGNORECASE,
)
_TRY = re.compile(
    r"\b(?:on\s+(?:the|a)\s+)?(?:"
    r"(?P<order>first|second|third|fourth|fifth|sixth|[1-9](?:st|nd|rd|th))\s+(?:try|attempt|run|reading|go)"
    r"|(?:try|attempt)\s+(?:no\.?\s*|number\s+|#\s*)?"
    rf"(?P<number>[1-9]{_NOT_A_FIGURE}|one|two|three|four|five|six)"
    r")\b\s*:?",
    re.IGNORECASE,
)
# The first and the second engagement of a cold box are readings of their own, not tries of one.
_ENGAGING = re.compile(r"engag|cold|into (?:drive|reverse|gear|d\b|r\b)|delay|take[- ]up", re.IGNORECASE)
_AGAIN = re.compile(
    r"(?:(?<![^\s,;:(])(?:once\s+|and\s+)?again\b[:,]?\s+"
    r"(?=[\d.]+\s*[^\d]{0,6}\s*(?:$|[,;.]|and\b|with\b|on\b|using\b))"
    r"|(?<=[\d\w\"%])[,]?\s+again\s*$)",
    re.IGNORECASE,
)
_FIGURE = re.compile(r"\d")
_CLAUSES = re.compile(r"[,;\n]|\.\s|\band\b|\bthen\b")


@dataclass(frozen=True)
class Mark:
    """What was said of a reading and where: `kind` is "instrument" or "try"."""

    kind: str
    value: str
    start: int
    end: int


@dataclass(frozen=True)
class Told:
    """A line with what was said of the readings taken out of it, letter for letter in its place."""

    text: str
    marks: tuple[Mark, ...]

    def of(self, start: int, end: int, before: int, after: int) -> tuple[Mark, ...]:
        """What is said of the statement at `start`, with the last one ending at `before`.

        `after` is where the next one starts. An instrument goes for the whole line unless each statement
        names its own; the number of a try is that of the figure in the same clause, or else of the one
        before it.
        """
        gauges = [mark for mark in self.marks if mark.kind == "instrument"]
        near = [mark for mark in gauges if self._belongs(mark, start, end, before, after)]
        tries = [mark for mark in self.marks if mark.kind == "try"]
        return (
            *(near or gauges)[:1],
            *[mark for mark in tries if self._belongs(mark, start, end, before, after)][:1],
        )

    def _belongs(self, mark: Mark, start: int, end: int, before: int, after: int) -> bool:
        if start <= mark.start < end:
            return True
        if before <= mark.start < start:
            return before == 0 or _CLAUSES.search(self.text[mark.end : start]) is None
        if end <= mark.start < after:
            last = after >= len(self.text)
            return last or _CLAUSES.search(self.text[mark.end : after]) is not None
        return False


def read_told(text: str) -> Told:
    """Take the instrument and the number of the try out of a line that also gives a figure."""
    marks: list[Mark] = []
    for pattern, kind in ((_WITH, "instrument"), (_BARE, "instrument"), (_TRY, "try"), (_AGAIN, "try")):
        for found in pattern.finditer(text):
            value = instrument_of(found["name"]) if kind == "instrument" else _number(found)
            rest = _blank(text, found.start(), found.end())
            if kind == "try" and found.groupdict().get("order") and _ENGAGING.search(text):
                continue
            if value and _FIGURE.search(rest):
                marks.append(Mark(kind, value, found.start(), found.end()))
                text = rest
    return Told(text, tuple(sorted(marks, key=lambda mark: mark.start)))


def instrument_of(name: str) -> str:
    """The name of an instrument without what does not tell it from others: "the 300 psi gauge"."""
    words = [word for word in re.split(r"\s+", name.casefold().strip()) if word]
    while words and words[0] in {"the", "a", "an", "my", "our", "your"}:
        words.pop(0)
    words = [word for word in words if word not in {"no.", "no", "number", "#"}]
    if words == ["gauge"]:
        return ""
    plain = {"stop-watch": "stopwatch", "tacho": "tachometer", "tach": "tachometer", "speedo": "speedometer"}
    return " ".join(plain.get(word, word) for word in words).replace("stop watch", "stopwatch")


def _number(found: re.Match[str]) -> str:
    groups = found.groupdict()
    order, number = groups.get("order"), groups.get("number")
    if order:
        return _NUMBERS.get(order.casefold(), order[0])
    return _WORDS.get(number.casefold(), number) if number else AGAIN


def _blank(text: str, start: int, end: int) -> str:
    return f"{text[:start]}{' ' * (end - start)}{text[end:]}"
