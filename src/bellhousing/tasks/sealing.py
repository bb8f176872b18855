"""Rings and gaskets: the size for a measured groove, what age leaves, why torque does not cure it."""

from __future__ import annotations

from difflib import get_close_matches

from bellhousing.errors import QuantityError
from bellhousing.fits import seals
from bellhousing.fits.dash_sizes import DashSize, dash_sizes
from bellhousing.fits.retorque import gasket_regains, ring_regains
from bellhousing.fits.seals import Duty, Fitted
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.figures import Figures

ON_HAND = "the ring on hand"

EXTRA_FORCE, CLAMPED, UNDER_HEAD = 5000.0, 20e-3, 150e-6
"""Bolt force [N], thickness [m] and area [m²] of aluminium a turn too many works on; common practice."""

EXTRA_PRESSURE = 10e6
"""More pressure on a gasket than threads in aluminium bear [Pa]; common practice, no source."""

PAPER = 100e6
"""Stiffness of gasket paper through its thickness [Pa]; common practice, no source."""

NEVER = "rings, lip seals and gaskets are fitted once; a ring on hand is measured against the groove first"


class RingAnswer(Shape):
    """A ring in the groove: shares of one; `problems` is empty where nothing speaks against it."""

    ring: str
    inside_in: float
    section_in: float
    outside_in: float
    stretch: float
    squeeze: float
    least_squeeze: float
    most_squeeze: float
    fill: float
    fits: bool
    problems: tuple[str, ...]
    text: str


class GrooveAnswer(Shape):
    """Standard rings for a measured groove, the best first; `text` is the whole in one sentence."""

    duty: str
    floor_mm: float
    depth_mm: float
    width_mm: float
    rings: tuple[RingAnswer, ...]
    text: str
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]


class AgedAnswer(Shape):
    """What years have left of a ring's squeeze, shares of its new section; `follows_mm`: play it takes up."""

    shape: str
    new_squeeze: float
    left_squeeze: float
    section_now_mm: float
    follows_mm: float
    seals: bool
    text: str
    torque: str
    rule: str
    assumed: tuple[str, ...]


class GasketAnswer(Shape):
    """What more torque presses back of a gasket fitted dry that has shrunk."""

    lost_mm: float
    regained_mm: float
    drawn_mm: float
    text: str
    rule: str
    assumed: tuple[str, ...]


def _sliding(sliding: bool) -> Duty:
    return "dynamic" if sliding else "static"


def _depth(figures: Figures, floor: float, depth: str | None, bore: str | None) -> float:
    if (depth is None) == (bore is None):
        raise QuantityError(
            "the depth of the gland is not known",
            remedy="give either the depth, or the bore the ring seals against",
        )
    if depth is not None:
        return figures.read(depth, "depth", "in", 0.02, 0.6)
    assert bore is not None
    wide = figures.read(bore, "bore", "in", 0.1, 30.0)
    if wide <= floor:
        raise QuantityError(
            "the bore is no wider than the groove's floor",
            where="bore",
            remedy="measure both as diameters, in the same unit",
        )
    return 0.5 * (wide - floor)


def groove(
    floor: str,
    width: str,
    *,
    depth: str | None = None,
    bore: str | None = None,
    sliding: bool = False,
    dash: str | None = None,
    ring: tuple[str, str] | None = None,
    square: bool = False,
) -> GrooveAnswer:
    """Standard rings for a groove measured on a shaft or piston, or how one ring would lie in it.

    `ring` is one on hand, its inside diameter and its section, `square` if it is square-cut.

    Raises
    ------
    QuantityError : a figure that cannot be, or no ring of that dash number
    """
    figures = Figures()
    at = figures.read(floor, "floor of the groove", "in", 0.05, 30.0)
    across = figures.read(width, "width of the groove", "in", 0.02, 1.0)
    deep = _depth(figures, at, depth, bore)
    duty = _sliding(sliding)
    tried: tuple[Fitted, ...]
    if ring is not None:
        on_hand = DashSize(
            ON_HAND,
            figures.read(ring[0], "inside diameter of the ring", "in", 0.02, 30.0),
            figures.read(ring[1], "section of the ring", "in", 0.02, 0.6),
            0.0,
        )
        tried = (seals.fitted(on_hand, at, deep, across, duty, "square" if square else "round"),)
    elif dash is None:
        tried = seals.sizes_for(at, deep, across, duty)
    else:
        tried = (seals.fitted(_of_dash(dash), at, deep, across, duty),)
    rings = tuple(_ring(entry) for entry in tried)
    return GrooveAnswer(
        duty="slides" if sliding else "stands still",
        floor_mm=_mm(at),
        depth_mm=_mm(deep),
        width_mm=_mm(across),
        rings=rings,
        text=_which(rings, one=dash is not None or ring is not None),
        cautions=(NEVER,),
        assumed=tuple(figures.assumed),
    )


def _of_dash(text: str) -> DashSize:
    number = text.strip().lstrip("-").lstrip("0") or "0"
    name = f"-{number.zfill(3)}"
    known = dash_sizes()
    if name not in known:
        near = get_close_matches(name, known, n=3, cutoff=0.5)
        raise QuantityError(f"no standard ring is called '{text[:20]}'", remedy=f"near are {', '.join(near)}")
    return known[name]


def _ring(entry: Fitted) -> RingAnswer:
    size = entry.size
    said = (
        f"{size.dash} ({_inch(size.inside_diameter):.3f} × {_inch(size.section):.3f} in): squeeze "
        f"{100 * entry.squeeze:.0f} % ({100 * entry.least_squeeze:.0f}–{100 * entry.most_squeeze:.0f} % "
        f"within its tolerance), stretch {100 * entry.stretch:.1f} %, fills {100 * entry.fill:.0f} %"
    )
    return RingAnswer(
        ring=size.dash,
        inside_in=_inch(size.inside_diameter),
        section_in=_inch(size.section),
        outside_in=_inch(size.outside_diameter),
        stretch=round(entry.stretch, 4),
        squeeze=round(entry.squeeze, 4),
        least_squeeze=round(entry.least_squeeze, 4),
        most_squeeze=round(entry.most_squeeze, 4),
        fill=round(entry.fill, 4),
        fits=entry.fits,
        problems=entry.problems,
        text=said if entry.fits else f"{said}: {'; '.join(entry.problems)}",
    )


def _which(rings: tuple[RingAnswer, ...], *, one: bool) -> str:
    if one:
        name = rings[0].ring
        verdict = "belongs" if rings[0].fits else "does not belong"
        return f"{name[:1].upper()}{name[1:]} {verdict} in this groove."
    fitting = [entry for entry in rings if entry.fits]
    if fitting:
        also = f"; {', '.join(entry.ring for entry in fitting[1:])} would do" if fitting[1:] else ""
        return f"Fit {fitting[0].ring}{also}."
    if rings:
        return f"No standard ring fits; {rings[0].ring} is nearest. Look at the units and measure again."
    return "No standard ring is anywhere near this groove: measure it again."


def aged(
    section: str,
    *,
    depth: str,
    lasting: str = "0 %",
    shrink: str = "0 %",
    swell: str = "0 %",
    taken_out: str | None = None,
    hardness: str = "75",
    square: bool = False,
    play: str | None = None,
) -> AgedAnswer:
    """What setting, shrinking and hardening have left of a ring's squeeze, and why torque gives none back.

    `taken_out` is the section of the ring as it came out, which stands for `lasting`; `swell` what the fluid
    adds to the section.

    Raises
    ------
    QuantityError : a figure that cannot be
    """
    figures = Figures()
    thick = figures.read(section, "section", "in", 0.02, 0.6)
    deep = figures.read(depth, "depth", "in", 0.02, 0.6)
    new = seals.squeeze(thick, deep)
    took = figures.share(lasting, "compression set")
    if taken_out is not None:
        took = _set_of(thick, deep, figures.read(taken_out, "section as it came out", "in", 0.02, 0.6))
    swollen = figures.share(swell, "swelling", 0.0, 60.0)
    shrunk = figures.share(shrink, "shrinking", 0.0, 60.0)
    shore = figures.read(hardness, "hardness", "", 20.0, 100.0)
    wanted = 0.0 if play is None else figures.read(play, "play", "mm", 0.0, 5.0)
    left = seals.remaining_squeeze(thick, deep, set_share=took, shrink=shrunk, swell=swollen)
    now = seals.section_after(thick, deep, set_share=took, shrink=shrunk) + swollen * thick
    goes = seals.follows(thick, deep, set_share=took, shrink=shrunk, swell=swollen, hardness=shore)
    lost = max((new - left) * thick, 0.0)
    back = ring_regains(lost, EXTRA_FORCE, length=CLAMPED, area=UNDER_HEAD)
    sealing = goes > wanted
    return AgedAnswer(
        shape="square-cut" if square else "round",
        new_squeeze=round(new, 4),
        left_squeeze=round(left, 4),
        section_now_mm=_mm(now),
        follows_mm=_mm(goes),
        seals=sealing,
        text=_left(new, left, goes, wanted, shore),
        torque=f"{back.text[:1].upper()}{back.text[1:]}",
        rule=(
            "of the squeeze the set stays, then the whole section shrinks; rubber of 80 Shore A springs back "
            "wholly, of 95 not at all (common practice)"
        ),
        assumed=tuple(figures.assumed),
    )


def _set_of(section: float, depth: float, out: float) -> float:
    if not depth < section:
        raise QuantityError("a ring that was never squeezed has not set", remedy="look at section and depth")
    if out > section:
        raise QuantityError(
            "a ring thicker than new has not set",
            where="section as it came out",
            remedy="give it as swelling",
        )
    return min(seals.compression_set(section, depth, out), 1.0)


def _left(new: float, left: float, goes: float, wanted: float, shore: float) -> str:
    start = f"Of {100 * new:.0f} % squeeze when new {100 * left:.0f} % is left"
    if left <= 0.0:
        clear = show(-goes, "mm", digits=3)
        return f"Of {100 * new:.0f} % squeeze when new nothing is left: the ring stands clear by {clear}."
    takes = f"at {shore:.0f} Shore A it takes up {show(goes, 'mm', digits=3)} of play"
    verdict = "it still seals" if goes > wanted else "that is not enough: fit a new one"
    if wanted == 0.0 and goes > 0.0:
        verdict = "it seals while nothing moves further than that"
    asked = f" against {show(wanted, 'mm', digits=3)}" if wanted > 0.0 else ""
    return f"{start}; {takes}{asked}: {verdict}."


class CutAnswer(Shape):
    """The groove on a piston that gives a ring a squeeze: diameter of its floor, depth, width."""

    floor_in: float
    depth_in: float
    width_in: float
    text: str
    assumed: tuple[str, ...]


def cut(bore: str, section: str, *, wanted: str = "18 %") -> CutAnswer:
    """The groove to cut on a piston for a ring in its bore, the play of the piston left out.

    Raises
    ------
    QuantityError : a figure that cannot be
    """
    figures = Figures()
    wide = figures.read(bore, "bore", "in", 0.1, 30.0)
    thick = figures.read(section, "section", "in", 0.02, 0.6)
    share = figures.share(wanted, "squeeze", 1.0, 40.0)
    found = seals.piston_groove(wide, thick, share)
    if found.diameter <= 0.0:
        raise QuantityError("the ring is too thick for this bore", remedy="measure both in the same unit")
    deep = 0.5 * (wide - found.diameter)
    return CutAnswer(
        floor_in=_inch(found.diameter),
        depth_in=_inch(deep),
        width_in=_inch(found.width),
        text=(
            f"Turn the floor to {_inch(found.diameter):.3f} in, {_inch(found.width):.3f} in wide: "
            f"{100 * share:.0f} % squeeze on {_inch(thick):.3f} in of rubber, {_inch(deep):.3f} in deep."
        ),
        assumed=tuple(figures.assumed),
    )


def gasket(thickness: str, *, shrink: str, span: str) -> GasketAnswer:
    """What more torque presses back of a paper gasket fitted dry.

    Raises
    ------
    QuantityError : a figure that cannot be
    """
    figures = Figures()
    thick = figures.read(thickness, "thickness", "in", 0.002, 0.2)
    shrunk = figures.share(shrink, "shrinking", 0.0, 60.0)
    apart = figures.read(span, "distance from bolt to bolt", "mm", 5.0, 400.0)
    back = gasket_regains(thick, shrunk, EXTRA_PRESSURE, modulus=PAPER, span=apart)
    return GasketAnswer(
        lost_mm=_mm(back.lost),
        regained_mm=_mm(back.regained),
        drawn_mm=_mm(back.across),
        text=f"{back.text[:1].upper()}{back.text[1:]}",
        rule=(
            "10 MPa more on paper of 100 MPa through its thickness, half of it on the mean between bolts "
            "(common practice)"
        ),
        assumed=tuple(figures.assumed),
    )


def _mm(metres: float) -> float:
    return round(metres * 1e3, 5)


def _inch(metres: float) -> float:
    return round(float(from_si(metres, "in")), 5)
