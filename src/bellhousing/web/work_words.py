"""Entries of the book of work as a person reads them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from bellhousing.boxes.parts_tree import PartsTree
from bellhousing.quantities.number_words import UP_TO_NINETEEN
from bellhousing.tasks.work_book import BookLine
from bellhousing.work.open_items import IN_WORDS

NUMBERS = ("none", *UP_TO_NINETEEN[1:13])
KINDS: Mapping[str, str] = {
    "bolts-out": "out",
    "bolts-bagged": "into bag {tag}",
    "bolts-back": "back in",
    "ball-out": "balls out",
    "ball-back": "balls back",
    "part-off": "off",
    "part-on": "on again",
    "jack-bolts-in": "puller bolts in",
    "jack-bolts-out": "puller bolts out, {left} left in",
    "one-use-replaced": "{count} new: {what}",
    "baseline": "{measure} before it came off: {value}",
    "baseline-declined": "{measure} declined, {reason}",
    "bag": "bag lies at {place}",
    "reason": "closed in writing: {text}",
    "part-finding": "{condition}; {decision}",
    "order": "on the order, {count} × {name}",
    "order-status": "{status}",
    "arrived": "came, laid against the old: {check}",
    "old-part": "old part {what}",
    "identification": "{value}",
    "torque": "round {step} torqued",
    "gate": "{text}",
    "authority": "authorised up to {sum} by {by}, {how}",
    "variation": "{sum} more for {why}, {by}, {how}",
    "hours": "{hours} h, {what}",
    "price": "{what}: {sum}",
    "terms": "rate and tax",
    "aim": "to reach: {parts}",
    "withdrawn": "taken back: {reason}",
}
SUBJECTS = {
    "strip": "Strip",
    "job": "This job",
    "open": "Opening up",
    "diagnose": "Diagnosis",
    "repair": "Repair",
}
EXTRAS = ("place", "note", "number", "reason", "supplier", "promised", "price")


def count_in_words(number: int) -> str:
    """A small count as a word: "seven"."""
    return NUMBERS[number] if 0 <= number < len(NUMBERS) else str(number)


def line_said(tree: PartsTree | None, line: BookLine) -> str:
    """One entry in a sentence: what it is about, and what was done."""
    return f"{subject_name(tree, line.subject)}: {_done(line)}"


def subject_name(tree: PartsTree | None, subject: str) -> str:
    """What an entry is about, by the name people use."""
    if tree is not None:
        if subject in tree.flanges:
            return tree.flanges[subject].name
        if subject in tree.parts:
            return tree.parts[subject].name
        for _, gate in tree.gates():
            if gate.slug == subject:
                return gate.name
    return SUBJECTS.get(subject, subject.replace("-", " ").replace(":", ", "))


def _done(line: BookLine) -> str:
    if line.kind in ("exception", "cleared"):
        return _at_slot(line)
    pattern = KINDS.get(line.kind)
    if pattern is None:
        return line.text
    said = pattern.format_map(_Words(line.data))
    told = [said]
    holes = line.data.get("holes", line.data.get("pockets"))
    if holes is not None:
        told.insert(0, _slots(holes, "pocket" if "pockets" in line.data else "hole"))
    shown = {name for name in EXTRAS if f"{{{name}}}" in pattern}
    told += [str(line.data[name]) for name in EXTRAS if line.data.get(name) and name not in shown]
    return ", ".join(text for text in told if text)


def _at_slot(line: BookLine) -> str:
    where = f"pocket {line.data['pocket']}" if "pocket" in line.data else f"hole {line.data.get('hole', '')}"
    if line.kind == "exception":
        said = IN_WORDS.get(str(line.data.get("what")), str(line.data.get("what")))
    else:
        said = str(line.data.get("how", "")).replace("-", " ")
    note, now = str(line.data.get("note", "")), str(line.data.get("where_now", ""))
    return ", ".join(text for text in (f"{where} {said}", note, f"now {now}" if now else "") if text)


def _slots(value: Any, word: str) -> str:
    if not isinstance(value, list):
        return "all as drawn"
    numbers = [str(one) for one in value]
    return f"{word}{'' if len(numbers) == 1 else 's'} {', '.join(numbers)}"


class _Words(dict[str, str]):
    """The fields of an entry, hyphens as spaces where they are a choice of ours, empty where missing."""

    CHOICES = ("measure", "reason", "decision", "status", "check", "what")
    READ: Mapping[str, Callable[[Any], str]] = {
        name: (lambda value: str(value).replace("-", " ")) for name in CHOICES
    }

    def __init__(self, data: Mapping[str, Any]) -> None:
        super().__init__({name: self.READ.get(name, str)(value) for name, value in data.items()})

    def __missing__(self, name: str) -> str:
        return ""
