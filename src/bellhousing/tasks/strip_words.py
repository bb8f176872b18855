"""The steps of a strip plan in words: fasteners, what is loose, what to measure first, cautions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping

from bellhousing.boxes.box import Box
from bellhousing.boxes.parts_tree import Baseline, Flange, Hole, JackHoles, Part, PartsTree
from bellhousing.fits.measures import shipped_measures
from bellhousing.quantities.show import show
from bellhousing.tasks.shipped import shipped_catalogue
from bellhousing.tasks.strip_shapes import StripBaseline, StripChoice, StripFlange, StripStep
from bellhousing.work.strip import Step, StripPlan

PLACES = {"in-car": "in the car", "box-out": "box out", "bench": "on the bench"}


class StripTeller:
    """Puts one plan into words; `measured` holds, by part, what was measured or declined already."""

    def __init__(
        self, box: Box, tree: PartsTree, plan: StripPlan, measured: Mapping[str, Collection[str]]
    ) -> None:
        self.box, self.tree, self.plan, self.measured = box, tree, plan, measured
        self.catalogue = shipped_catalogue().of_family(box.kind)

    def steps(self) -> tuple[StripStep, ...]:
        """Every step in order."""
        return tuple(self._step(number, step) for number, step in enumerate(self.plan.steps, 1))

    def _step(self, number: int, step: Step) -> StripStep:
        part = step.part
        return StripStep(
            number=number,
            part=part.slug,
            name=part.name,
            minutes=step.minutes,
            where=PLACES[part.where],
            wanted=step.wanted,
            tools=part.tools,
            weight=self.weight(part),
            flange=None if step.flange is None else flange_of(step.flange, step.out_already),
            measure_before=tuple(
                self.baseline(row, done=row.measure in self.measured.get(part.slug, ()))
                for row in part.measure_before
            ),
            cautions=tuple(self.caution(slug) for slug in part.cautions),
            marks=part.marks,
            loose=loose_at(part),
            one_use=one_use_of(part),
            may_be_found=part.may_be_found,
            opens=tuple(self.tree.parts[slug].name for slug in step.opens),
            instead=tuple(self.tree.parts[slug].name for slug in step.instead),
            note=part.note,
        )

    def caution(self, slug: str) -> str:
        """A caution as the sentence to show."""
        return self.catalogue.cautions.get(slug, slug.replace("-", " ").capitalize())

    def weight(self, part: Part) -> str | None:
        """What a part weighs, None where nobody said."""
        return None if part.weight is None else show(part.weight, "kg")

    def baseline(self, row: Baseline, *, done: bool = False) -> StripBaseline:
        """What must be known before a part is undone, with its unit and window or what a look may show."""
        known = self.box.measurements.get(row.measure)
        measure = known.measure if known is not None else shipped_measures().get(row.measure)
        finding = self.catalogue.findings.get(row.measure)
        unit = ""
        choices: tuple[StripChoice, ...] = ()
        window = known.window if known is not None else self.box.windows.get(row.measure)
        if measure is not None:
            name, how, unit = measure.name, measure.how, measure.unit
        elif finding is not None:
            name, how, unit = finding.name, finding.ask, finding.unit
            choices = tuple(
                StripChoice(state=state, name=said) for state, said in finding.state_names.items()
            )
        else:
            name, how = row.measure.replace("-", " "), ""
        return StripBaseline(
            measure=row.measure,
            name=name,
            how=how,
            why=row.why,
            done=done,
            unit=unit,
            window="" if window is None else window.text,
            choices=choices,
        )


def time_text(minutes: float) -> str:
    """Minutes as hours and minutes: "3 h 42 min"."""
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest} min" if hours and rest else f"{hours} h" if hours else f"{rest} min"


def flange_of(flange: Flange, out_already: tuple[int, ...] = ()) -> StripFlange:
    """The fasteners of a flange in words: what most holes have in one line, single ones by number."""
    count = len(flange.holes)
    usual, times = Counter(hole.length for hole in flange.holes).most_common(1)[0]
    plural = "" if count == 1 else "s"
    size = ", ".join(
        text for text in (flange.thread, _length(usual) if times > 1 or count == 1 else "") if text
    )
    fasteners = f"{count} {flange.fastener}{plural}{f', {size}' if size else ''}"
    lines = [(hole, _particular(hole, usual)) for hole in flange.holes]
    jack = flange.jack_holes
    return StripFlange(
        flange=flange.slug,
        name=flange.name,
        fasteners=fasteners,
        particular=tuple(f"hole {hole.number}: {said}" for hole, said in lines if said),
        out_already=out_already,
        washers_one_use=len(flange.washers) if flange.washers_one_use else 0,
        jack=None if jack is None else _jack(jack),
        note=flange.note,
    )


def _jack(jack: JackHoles) -> str:
    thread = f" {jack.thread}" if jack.thread else ""
    note = f": {jack.note}" if jack.note else ""
    return f"{jack.count} holes{thread} for puller bolts{note}"


def _length(metres: float | None) -> str:
    return "" if metres is None else f"{show(metres, 'in')} long"


def _particular(hole: Hole, usual: float | None) -> str:
    return "; ".join(
        text
        for text in (
            _length(hole.length) if hole.length != usual else "",
            f"hidden {hole.hidden}" if hole.hidden else "",
            f"holds the {hole.shared_with} as well" if hole.shared_with else "",
            f"goes in with {hole.sealant}" if hole.sealant else "",
            hole.note,
        )
        if text
    )


def loose_at(part: Part) -> tuple[str, ...]:
    """Balls and springs that come loose with a part, to be counted."""
    said = [
        f"check ball, pocket {ball.pocket} ({ball.name}), {ball.material}{_size(ball.size)}"
        for ball in part.check_balls
    ]
    for spring in part.springs:
        known = [
            spring.colour or "",
            f"{show(spring.length, 'in')} long" if spring.length is not None else "",
        ]
        of_it = f", {', '.join(text for text in known if text)}" if any(known) else ""
        said.append(f"{spring.name} to the {spring.goes_to}{of_it}")
    return tuple(said)


def _size(metres: float | None) -> str:
    return "" if metres is None else f", {show(metres, 'in')}"


def one_use_of(part: Part) -> tuple[str, ...]:
    """Seals and the like that are not used again, with their count where there are several."""
    return tuple(
        f"{seal.name}, {seal.count} of them" if seal.count > 1 else seal.name
        for seal in part.seals
        if seal.one_use
    )
