"""Where it leaks and how fast: what a job or a findings file says of wet places, weighed and put in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path

from bellhousing.boxes.box import Box
from bellhousing.boxes.leak_sites import LeakSite
from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.leaks import LeakTrace, SiteBelief, trace
from bellhousing.diagnosis.posterior import Diagnosis, diagnose
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.errors import FindingError
from bellhousing.tasks import noting
from bellhousing.tasks.findings_file import FindingsFile, read_findings_file
from bellhousing.tasks.hearing import Heard, Listener, hear
from bellhousing.tasks.leak_loss_text import loss_answer
from bellhousing.tasks.leak_notes import (
    LeakReading,
    Sentence,
    place_names,
    read_leak_notes,
    tells_of_a_loss,
)
from bellhousing.tasks.leak_shapes import (
    LeakAnswer,
    LeakFactor,
    LeakReason,
    LeakSet,
    LeakSiteAnswer,
)
from bellhousing.tasks.on_job import OnJob, on_job
from bellhousing.tasks.preparation import Preparation
from bellhousing.tasks.shipped import shipped_catalogue
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.tries import combined
from bellhousing.words.wet_places import is_measured_place

LEAST_SHOWN = 0.02
MOST_SHOWN = 8
SUSPECT = 0.2
"""Probability from which a site is named as one to look at."""


def leaks_of_job(shop: Shop, job: int) -> LeakAnswer:
    """Where a job's car leaks, and how fast, after everything that stands on the job.

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box of the car cannot be used.
    FindingError : the box names no leak sites.
    """
    return leaks_on(on_job(shop, job))


def leaks_on(now: OnJob) -> LeakAnswer:
    """Where a car leaks after what stands on its job; raises as `leaks_of_job`."""
    sentences = [
        Sentence(entry.answer.said, entry.answer.number, entry.evidence is not None) for entry in now.heard
    ]
    believed, today = now.reckoning.diagnosis, now.shop.clock().date()
    return leaks(now.prepared, believed, sentences, today=today)


def note_leak(shop: Shop, job: int, text: str, *, key: str | None = None) -> LeakAnswer:
    """Keep what a line says of a wet place or a loss; the answer is that of the job with it.

    Raises
    ------
    FindingError : it tells of neither, or is measured from a place this box does not name.
    RecordError : no such job.
    """
    box = shop.box(shop.store.car(shop.store.job(job).car).box)
    found = read_leak_notes(box, [Sentence(text)])
    if not found.notes:
        marks = ", ".join(mark.name for mark in box.landmarks[:4])
        raise FindingError(
            "this tells of no wet place and no loss",
            remedy=f"for example “wet 40 mm behind the front of the pan”; one may measure from {marks}",
        )
    refused = next((entry for entry in found.notes if not entry.counts), None)
    if refused is not None:
        raise FindingError(refused.understood.removeprefix("not counted: "))
    noting.note(shop, job, text, key=key)
    return leaks_of_job(shop, job)


def leaks_of_file(path: Path, *, box: str | None = None, today: date | None = None) -> LeakAnswer:
    """Where the car of a findings file leaks, and how fast; `box` stands in for the file's own.

    Raises
    ------
    InputFileError : a malformed file.
    BoxFileError : a box that does not exist or cannot be used.
    FindingError : nothing in it tells of a leak, or the box names no leak sites.
    """
    file = read_findings_file(path)
    taken = _box(file, path) if box is None else load_box(box)
    catalogue = shipped_catalogue()
    sentences, evidence = _heard(file, taken, catalogue)
    prepared = Preparation(catalogue).prepared(taken, file.car)
    believed = diagnose(prepared, evidence, reasons=False)
    answer = leaks(prepared, believed, sentences, today=today or datetime.now(UTC).date())
    if not answer.notes:
        raise FindingError(
            "nothing in the file tells of a wet place or a loss",
            where=str(path),
            remedy="write for example “spot 40 mm behind the front of the pan” or “6 drops a minute parked”",
        )
    return answer


def _box(file: FindingsFile, path: Path) -> Box:
    beside = path.parent / file.box
    return load_box(str(beside)) if beside.is_file() else load_box(file.box)


def _heard(file: FindingsFile, box: Box, catalogue: Catalogue) -> tuple[list[Sentence], list[Evidence]]:
    """The sentences, with those the catalogue understands marked as counted there, and their evidence."""
    listener = Listener.of(catalogue)
    sentences: list[Sentence] = []
    understood: list[Heard] = []
    for said in file.said:
        if is_measured_place(said) or tells_of_a_loss(said):
            sentences.append(Sentence(said))
            continue
        heard = [entry for entry in hear(said, listener, box, understood) if entry.evidence is not None]
        understood += heard
        sentences.append(Sentence(said, counted=bool(heard)))
    taken = combined(understood, catalogue)
    return sentences, [entry.evidence for entry in taken if entry.evidence is not None]


def leaks(
    prepared: Prepared,
    believed: Diagnosis,
    sentences: Sequence[Sentence],
    *,
    today: date,
) -> LeakAnswer:
    """Weigh what the sentences say of wet places on top of what is believed of each fault."""
    box = prepared.box
    reading = read_leak_notes(box, sentences)
    prior = {cause.id: float(cause.probability) for cause in believed.causes}
    missing = _missing(box, reading)
    found = trace(box, [wet for _, wet in reading.wet], prior, missing=missing)
    said = [text for text, _ in reading.wet]
    return LeakAnswer(
        box=box.slug,
        box_name=box.name,
        note=_whose(box.leak_sites),
        notes=reading.notes,
        first=first_look(found, said),
        sites=tuple(_site(belief, said) for belief in _worth_showing(found)),
        together=_together(found),
        factors=_factors(found.fault_factor, prepared.catalogue),
        unexplained=found.unexplained,
        unweighed=found.unweighed,
        levels=_levels_text(found),
        loss=loss_answer(reading, found, today=today),
        places=tuple(place.names[0] for place in place_names(box)),
    )


def _missing(box: Box, reading: LeakReading) -> float:
    """Fluid short of the upper mark [m³], nought where nobody said."""
    if reading.use.low is not None:
        return reading.use.low
    if reading.use.level is None or not box.has("sump.stick_volume"):
        return 0.0
    return (1.0 - reading.use.level) * (box.number("sump.stick_volume").value or 0.0)


def _whose(sites: Sequence[LeakSite]) -> str:
    whose = "typical of the kind of box" if any(site.origin == "family" for site in sites) else "of this box"
    invented = ", invented" if any(site.source == "invented" for site in sites) else ""
    return f"places {whose}{invented}"


def _worth_showing(found: LeakTrace) -> tuple[SiteBelief, ...]:
    return tuple(belief for belief in found.sites if belief.probability >= LEAST_SHOWN)[:MOST_SHOWN]


def _site(belief: SiteBelief, said: Sequence[str]) -> LeakSiteAnswer:
    site = belief.site
    under = belief.under_fluid
    return LeakSiteAnswer(
        site=site.id,
        name=site.name,
        probability=belief.probability,
        before=belief.before,
        factor=belief.factor,
        faults=site.faults,
        position=position(site),
        drips=_drips_text(belief),
        under_fluid=None
        if under is None
        else (round(1000 * under[0], 1), round(1000 * under[1], 1), round(1000 * under[2], 1)),
        source=site.source,
        reasons=tuple(
            LeakReason(said=text, why=told.why)
            for text, told in zip(said, belief.told, strict=True)
            if told.why
        ),
    )


def position(site: LeakSite) -> str:
    """Where a site is, in words: "380 mm behind the front face, 28 mm above the pan rail, left"."""
    parts = []
    if site.along is not None:
        mm = 1000.0 * site.along.value
        ends = f" to {mm + 1000 * site.length:.0f}" if site.length else ""
        parts.append(f"{abs(mm):.0f}{ends} mm {'behind' if mm >= 0 else 'before'} the front face")
    if site.height is not None:
        mm = 1000.0 * site.height.value
        parts.append(
            f"{abs(mm):.0f} mm {'above' if mm > 0 else 'below'} the pan rail"
            if abs(mm) >= 0.5
            else "at the pan rail"
        )
    if site.across is not None and abs(site.across.value) > 0.02:
        parts.append("right" if site.across.value > 0 else "left")
    return ", ".join(parts) or "position unknown"


def _drips_text(belief: SiteBelief) -> str:
    drips = belief.drips
    states = [
        name
        for name, chance in (("parked", drips.parked), ("idling", drips.idling), ("driving", drips.driving))
        if chance >= 0.4
    ]
    return "drips " + (", ".join(states) if states else "hardly in any state") + (", hot" * drips.hot)


def first_look(found: LeakTrace, said: Sequence[str]) -> str:
    """What to look at first, and why, in plain words."""
    suspects = [belief for belief in found.sites if belief.probability >= SUSPECT]
    if not said:
        wanted = "write down the highest, foremost wet point"
        if not suspects:
            return f"Nobody has said yet where it is wet: {wanted}."
        return f"The findings point to the {_lower(suspects[0].site.name)}; to be surer, {wanted}."
    if not suspects:
        return "None of the places this box can leak at explains what was seen: wipe it dry and look again."
    top = suspects[0]
    reasons = [reason for reason in (_highest(top, found), _only_parked(top, found)) if reason]
    if not reasons:
        fits = sum(told.why == "fits" for told in top.told)
        wet = "the one wet place" if len(said) == 1 else f"{fits} of the {len(said)} places seen"
        reasons = [f"it fits {wet}"] if fits else ["nothing else fits better"]
    text = f"First look at the {_lower(top.site.name)}: {' and '.join(reasons)}."
    if len(suspects) > 1:
        text += f" Then at the {_lower(suspects[1].site.name)}."
    if found.unexplained > 0.3:
        text += (
            f" It may also be old fluid or a spill ({100 * found.unexplained:.0f} in 100): "
            "wipe it dry and look again."
        )
    return text


def _highest(top: SiteBelief, found: LeakTrace) -> str:
    rivals = [belief.site for belief in found.sites if belief.probability >= 0.1 and belief is not top]
    height = top.site.height
    if height is None or not rivals or any(told.why not in ("fits", "") for told in top.told):
        return ""
    known = [site.height.value for site in rivals if site.height is not None]
    return "it is the highest of the places that fit" if known and height.value > max(known) else ""


def _only_parked(top: SiteBelief, found: LeakTrace) -> str:
    def still(belief: SiteBelief) -> bool:
        return belief.drips.parked > 0.5 and belief.drips.running < 0.4

    others = any(still(belief) for belief in found.sites if belief.probability >= 0.1 and belief is not top)
    if not still(top) or top.under_fluid is None:
        return ""
    running, _, overnight = (1000.0 * depth for depth in top.under_fluid)
    alone = "" if others else "alone of the likely places "
    stands = f"{overnight:.0f} mm of fluid stands above it after a night"
    return f"it {alone}drips only when parked, as {stands}" + (" and none running" if running < 0 else "")


def _lower(name: str) -> str:
    return name[:1].lower() + name[1:]


def _together(found: LeakTrace) -> tuple[LeakSet, ...]:
    names = {belief.site.id: belief.site.name for belief in found.sites}
    return tuple(
        LeakSet(sites=sites, probability=probability, names=tuple(names[site] for site in sites))
        for sites, probability in found.together
    )


def _factors(factors: Mapping[str, float], catalogue: Catalogue) -> tuple[LeakFactor, ...]:
    known = sorted(factors.items(), key=lambda item: -item[1])
    return tuple(
        LeakFactor(fault=fault, name=catalogue.faults[fault].name, ln_factor=value)
        for fault, value in known
        if fault in catalogue.faults
    )


def _levels_text(found: LeakTrace) -> str:
    running, parked, night = (
        f"{1000 * level.height:.0f}"
        for level in (found.levels.running, found.levels.parked, found.levels.overnight)
    )
    return (
        f"Fluid stands {running} mm above the pan rail running hot, {parked} mm soon after stopping, "
        f"{night} mm after a night (heights below the rail are negative)."
    )
