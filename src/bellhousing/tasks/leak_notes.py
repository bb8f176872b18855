"""From sentences to wet places, losses and use, each shown as it was understood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bellhousing.boxes.box import Box
from bellhousing.boxes.leak_sites import Landmark, LeakSite
from bellhousing.diagnosis.leak_loss import MILE, Loss, Use
from bellhousing.diagnosis.leak_reach import Point
from bellhousing.diagnosis.leaks import Wet
from bellhousing.errors import FindingError
from bellhousing.quantities.show import show
from bellhousing.tasks.leak_shapes import LeakNote
from bellhousing.words.loss import LossWords, UseWords, read_loss, read_use
from bellhousing.words.wet_places import PlaceName, WetWords, read_wet_place

FRONT_FACE = PlaceName("front-face", ("front face of the case", "front face", "bell joint"), 0.0, 0.0, None)
KINDS = {
    "top": "highest wet point",
    "wet": "wet",
    "spot": "spot on the paper",
    "dry": "dry",
    "dry-above": "dry from there up",
}


@dataclass(frozen=True)
class Sentence:
    """One sentence, its record if it has one, and whether it is counted among the findings."""

    text: str
    number: int | None = None
    counted: bool = False


@dataclass(frozen=True)
class LeakReading:
    """What the sentences say, and how each was understood."""

    wet: tuple[tuple[str, Wet], ...]
    losses: tuple[tuple[str, LossWords], ...]
    use: UseWords
    notes: tuple[LeakNote, ...]


def place_names(box: Box) -> tuple[PlaceName, ...]:
    """The names one may measure from on a box, landmarks first."""
    names = [FRONT_FACE]
    places: list[Landmark | LeakSite] = [*box.landmarks, *box.leak_sites]
    for place in places:
        names.append(
            PlaceName(
                place.id,
                (place.name, place.id.replace("-", " "), *place.words),
                None if place.along is None else place.along.value,
                None if place.across is None else place.across.value,
                None if place.height is None else place.height.value,
                place.length if isinstance(place, LeakSite) else 0.0,
            )
        )
    return tuple(names)


def read_leak_notes(box: Box, sentences: Sequence[Sentence]) -> LeakReading:
    """Read every sentence that tells of a leak; others are left out.

    A later count of drops in one state, and a later pint, stand for the earlier one. A place that was only
    named and is counted among the findings is not counted again.
    """
    names = place_names(box)
    wet: list[tuple[str, Wet]] = []
    losses: dict[str, tuple[str, LossWords]] = {}
    use = UseWords()
    notes: list[LeakNote] = []
    for sentence in sentences:
        text = sentence.text
        loss, used = read_loss(text), read_use(text)
        if loss is not None:
            losses[_slot(loss)] = (text, loss)
        if used is not None:
            use = _merged(use, used)
        said = [_loss_text(loss)] if loss is not None else []
        said += [_use_text(used)] if used is not None else []
        try:
            place = read_wet_place(text, names)
        except FindingError as error:
            notes.append(
                LeakNote(said=text, understood=f"not counted: {error}", counts=False, number=sentence.number)
            )
            continue
        if place is not None and (place.measured or not (sentence.counted or said)):
            wet.append((text, _wet(place)))
            said.insert(0, _place_text(place, names))
        elif place is not None and sentence.counted:
            said.append("counted among the findings")
        if said:
            counts = said != ["counted among the findings"]
            notes.append(
                LeakNote(said=text, understood="; ".join(said), counts=counts, number=sentence.number)
            )
    return LeakReading(tuple(wet), tuple(losses.values()), use, tuple(notes))


def tells_of_a_loss(text: str) -> bool:
    """Whether a sentence tells how much is lost or how far the car is driven."""
    return read_loss(text) is not None or read_use(text) is not None


def _slot(loss: LossWords) -> str:
    if loss.kind == "volume":
        return "volume"
    return "running" if loss.kind == "drops" and loss.when.startswith(("running", "driving")) else "parked"


def _merged(old: UseWords, new: UseWords) -> UseWords:
    level_told = new.level is not None or new.low is not None
    return UseWords(
        metres=old.metres if new.metres is None else new.metres,
        running=old.running if new.running is None else new.running,
        level=new.level if level_told else old.level,
        low=new.low if level_told else old.low,
    )


def _wet(words: WetWords) -> Wet:
    point = Point(words.along, words.across, words.height, words.near, words.length)
    return Wet(words.kind, point, words.when, words.colour)


def loss_of(words: LossWords, *, running: bool) -> Loss:
    """A loss as it is reckoned; `running` says in which state drops fell."""
    return Loss(words.kind, words.amount, words.seconds, words.metres, running)


def use_of(words: UseWords) -> Use:
    """The use of the car as it is reckoned."""
    return Use(words.metres, words.running)


def _place_text(place: WetWords, names: Sequence[PlaceName]) -> str:
    parts = [KINDS[place.kind]]
    if place.place is not None:
        parts.append("at the " + next(name.names[0] for name in names if name.id == place.place).lower())
    else:
        where = [
            text
            for value, text in (
                (place.along, "mm behind the front face"),
                (place.height, "mm above the pan rail"),
                (place.across, "mm right of the middle"),
            )
            if value is not None
            for text in [_signed(1000.0 * value, text)]
        ]
        parts.append(", ".join(where))
    if place.when:
        parts.append(place.when.replace("-", " "))
    if place.colour:
        parts.append(place.colour)
    return ", ".join(parts)


def _signed(value: float, text: str) -> str:
    opposite = {"behind": "before", "above": "below", "right": "left"}
    if value < -0.5:
        for word, other in opposite.items():
            text = text.replace(word, other)
    return f"{abs(value):.0f} {text}"


def _loss_text(loss: LossWords) -> str:
    if loss.kind == "spot":
        return f"spot of {show(loss.amount, 'mm')} in {loss.seconds / 3600:.3g} hours"
    if loss.kind == "volume":
        base = f"{loss.metres / MILE:.3g} miles" if loss.metres else f"{loss.seconds / 86400:.3g} days"
        return f"{show(loss.amount, 'pint')} lost in {base}"
    when = loss.when.replace("-", " ") or "state not said"
    per_hour = 3600.0 * loss.amount
    rate = f"{per_hour / 60:.3g} drops a minute" if per_hour >= 60 else f"{per_hour:.3g} drops an hour"
    return f"{rate}, {when}"


def _use_text(use: UseWords) -> str:
    parts = []
    if use.metres is not None:
        parts.append(f"driven {use.metres / MILE:.3g} miles a month")
    if use.running is not None:
        parts.append(f"engine running {use.running / 3600:.3g} hours a month")
    if use.level is not None:
        parts.append(
            "level " + {1.0: "at the upper mark", 0.0: "at the lower mark"}.get(use.level, "half way")
        )
    if use.low is not None:
        parts.append(f"{show(use.low, 'pint')} short of the upper mark")
    return ", ".join(parts)
