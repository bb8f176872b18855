"""A pack of plates or a band from its own measures: what it holds, presses with, and what is enough."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bellhousing.errors import QuantityError
from bellhousing.friction import band as bands
from bellhousing.friction import plate_clutch as packs
from bellhousing.friction.capacity import capacity_margin
from bellhousing.friction.linings import FACINGS, LININGS, heat_into_steel
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.figures import Figures

MOST_PLATES = 30
FLUID = 830.0
"""Hot fluid behind a spinning piston [kg/m³]; common practice, no source."""

RULE = "worn plates by even wear, new ones by even pressure; what the lining bears as of its handbook table"
BAND_RULE = "tension along the wrap by the capstan equation"


class PackAnswer(Shape):
    """What a pack holds, worn in and new, in lb ft; pressures on the lining in psi."""

    faces: int
    force_n: float
    worn_lb_ft: float
    new_lb_ft: float
    uneven_lb_ft: float | None
    mean_psi: float
    inner_edge_psi: float
    outer_edge_psi: float
    most_psi: float
    bears: bool
    heat_into_steel: float | None
    margin: float | None
    pressure_needed_psi: float | None
    faces_needed: int | None
    text: str
    rule: str
    assumed: tuple[str, ...]


class BandAnswer(Shape):
    """What a band holds each way of turning, in lb ft; tensions in N."""

    with_drum_lb_ft: float
    against_drum_lb_ft: float
    force_n: float
    tight_n: float
    most_tension_n: float | None
    bears: bool | None
    grips_by_itself: bool | None
    lever_n: float | None
    margin: float | None
    text: str
    rule: str
    assumed: tuple[str, ...]


def plates(
    lined: str,
    inner: str,
    outer: str,
    piston: tuple[str, str],
    pressure: str,
    *,
    springs: str = "0 N",
    steels: str | None = None,
    lining: str = "paper",
    friction: str | None = None,
    outer_friction: str | None = None,
    drum_speed: str | None = None,
    wanted: str | None = None,
) -> PackAnswer:
    """What a pack of plates holds at a line pressure.

    Parameters
    ----------
    lined, steels : plates of each kind, the backing plate counted as a steel; one steel more if not given
    inner, outer : diameters of the lining
    piston : inner and outer diameter of the apply piston
    pressure : of the line at the clutch
    springs : force of the return springs
    lining, friction : what the plates are lined with, and its friction if it is known better
    outer_friction : at the outer edge where that is burnt or glazed
    drum_speed : of a drum that turns: the fluid behind the piston pushes too
    wanted : torque it has to hold

    Raises
    ------
    QuantityError : something that is not known or cannot be
    """
    figures = Figures()
    faces = _faces(figures, lined, steels)
    ri = 0.5 * figures.read(inner, "inner diameter", "in", 0.5, 20.0)
    ro = 0.5 * figures.read(outer, "outer diameter", "in", 0.5, 20.0)
    push = _push(figures, piston, pressure, springs, drum_speed)
    kind = _lining(lining)
    mu = LININGS[kind].friction if friction is None else figures.read(friction, "friction", "", 0.01, 0.6)
    worn_radius = float(packs.mean_radius_uniform_wear(ri, ro))
    worn = float(packs.plate_clutch_torque(faces, mu, push.force, worn_radius))
    new = float(packs.plate_clutch_torque(faces, mu, push.force, packs.mean_radius_uniform_pressure(ri, ro)))
    mean = float(packs.mean_pressure(push.force, ri, ro))
    uneven = None
    if outer_friction is not None:
        edge = figures.read(outer_friction, "friction at the outer edge", "", 0.0, 0.6)
        uneven = faces * float(packs.torque_of_uneven_friction(mean, mu, edge, ri, ro))
    held = worn if uneven is None else min(worn, uneven)
    asked = None if wanted is None else figures.read(wanted, "torque", "lb ft", 1.0, 5000.0)
    # Friction that falls towards the edge acts as so much less all over.
    enough = _enough(asked, held, faces, mu * held / worn if worn > 0.0 else 0.0, worn_radius, push)
    most = LININGS[kind].pressure[1]
    return PackAnswer(
        faces=faces,
        force_n=round(push.force, 1),
        worn_lb_ft=_lb_ft(worn),
        new_lb_ft=_lb_ft(new),
        uneven_lb_ft=None if uneven is None else _lb_ft(uneven),
        mean_psi=_psi(mean),
        inner_edge_psi=_psi(float(packs.peak_pressure_uniform_wear(push.force, ri, ro))),
        outer_edge_psi=_psi(float(packs.edge_pressure_uniform_wear(push.force, ri, ro))),
        most_psi=_psi(most),
        bears=mean <= most,
        heat_into_steel=round(heat_into_steel(kind), 3) if kind in FACINGS else None,
        margin=None if enough is None else round(enough.margin, 3),
        pressure_needed_psi=None if enough is None else _psi(enough.line),
        faces_needed=None if enough is None else enough.faces,
        text=_pack_text(faces, held, new if uneven is None else None, mean <= most, enough),
        rule=RULE,
        assumed=tuple(figures.assumed),
    )


@dataclass(frozen=True)
class _Push:
    """What presses a pack: force [N], piston area [m²], springs less the spinning fluid [N]."""

    force: float
    area: float
    against: float


@dataclass(frozen=True)
class _Enough:
    """Margin [-] over what is asked, the line pressure [Pa] and the faces that would be enough."""

    margin: float
    line: float
    faces: int


def _faces(figures: Figures, lined: str, steels: str | None) -> int:
    count = _whole(figures, lined, "lined plates")
    others = count + 1 if steels is None else _whole(figures, steels, "steel plates")
    if abs(others - count) > 1:
        raise QuantityError("lined plates and steels lie turn about", remedy="count both again")
    return int(packs.friction_faces(count, others))


def _push(
    figures: Figures, piston: tuple[str, str], pressure: str, springs: str, drum_speed: str | None
) -> _Push:
    inside = 0.5 * figures.read(piston[0], "inner diameter of the piston", "in", 0.0, 20.0)
    outside = 0.5 * figures.read(piston[1], "outer diameter of the piston", "in", 0.5, 20.0)
    if outside <= inside:
        raise QuantityError("a piston is wider outside than inside", remedy="give the inner diameter first")
    area = math.pi * (outside**2 - inside**2)
    line = figures.read(pressure, "line pressure", "psi", 1.0, 400.0)
    held_back = figures.read(springs, "springs", "N", 0.0, 2e4)
    spun = 0.0
    if drum_speed is not None:
        speed = figures.read(drum_speed, "drum speed", "rpm", 0.0, 8000.0)
        spun = float(packs.centrifugal_force(FLUID, speed, inside, outside, inside))
    return _Push(float(packs.apply_force(line, area, held_back, spun)), area, held_back - spun)


def _enough(
    asked: float | None, held: float, faces: int, friction: float, radius: float, push: _Push
) -> _Enough | None:
    if asked is None or held <= 0.0:
        return None
    force = float(packs.plate_clutch_force(asked, faces, friction, radius))
    needed = int(packs.faces_needed(asked, friction, push.force, radius))
    return _Enough(float(capacity_margin(held, asked)), max((force + push.against) / push.area, 0.0), needed)


def _pack_text(faces: int, held: float, new: float | None, bears: bool, enough: _Enough | None) -> str:
    if held <= 0.0:
        return "The springs hold the piston back: it presses on nothing at this pressure."
    said = f"{faces} faces hold {show(held, 'lb ft')}"
    if new is not None:
        said += f" worn in, {show(new, 'lb ft')} new"
    if enough is not None:
        said += f", {enough.margin:.2f} times what is asked"
        least = show(enough.line, "psi")
        said += f"; {least} is enough" if enough.margin >= 1.0 else f": it slips below {least}"
    return f"{said}." if bears else f"{said}. The lining is pressed harder than it bears."


def band(
    wrap: str,
    drum: str,
    *,
    pressure: str,
    piston: str,
    springs: str = "0 N",
    leverage: str = "1",
    friction: str = "0.12",
    width: str | None = None,
    thickness: str | None = None,
    stress: str = "60 MPa",
    arms: tuple[str, str] | None = None,
    lever: str | None = None,
    wanted: str | None = None,
) -> BandAnswer:
    """What a band holds with its drum's turning and against it.

    Parameters
    ----------
    wrap, drum : angle it lies round and diameter of the drum
    pressure, piston, springs, leverage : of the servo, its diameter, its return spring, its lever
    width, thickness, stress : of the band's steel, and what it is to bear at most
    arms, lever : where both ends pull on one lever: arms of the slack and of the tight end, and the lever
    wanted : torque it has to hold

    Raises
    ------
    QuantityError : something that is not known or cannot be
    """
    figures = Figures()
    angle = figures.read(wrap, "wrap", "deg", 20.0, 1500.0)
    radius = 0.5 * figures.read(drum, "drum diameter", "in", 1.0, 40.0)
    line = figures.read(pressure, "line pressure", "psi", 1.0, 400.0)
    across = figures.read(piston, "piston diameter", "in", 0.2, 8.0)
    held_back = figures.read(springs, "springs", "N", 0.0, 2e4)
    ratio = figures.read(leverage, "leverage", "", 0.1, 20.0)
    mu = figures.read(friction, "friction", "", 0.01, 0.6)
    force = float(bands.servo_force(line, math.pi / 4.0 * across**2, held_back, ratio))
    with_drum, against = (
        float(bands.band_torque(force, mu, angle, radius, energising=way)) for way in (True, False)
    )
    tight = force * float(bands.band_tension_ratio(mu, angle))
    most = _most_tension(figures, width, thickness, stress)
    grips, on_lever = _differential(
        figures, mu, angle, tight if most is None else min(tight, most), arms, lever
    )
    margin = None
    if wanted is not None:
        margin = float(capacity_margin(with_drum, figures.read(wanted, "torque", "lb ft", 1.0, 5000.0)))
    return BandAnswer(
        with_drum_lb_ft=_lb_ft(with_drum),
        against_drum_lb_ft=_lb_ft(against),
        force_n=round(force, 1),
        tight_n=round(tight, 1),
        most_tension_n=None if most is None else round(most, 1),
        bears=None if most is None else tight <= most,
        grips_by_itself=grips,
        lever_n=on_lever,
        margin=None if margin is None else round(margin, 3),
        text=_band_text(with_drum, against, margin, most is not None and tight > most, bool(grips)),
        rule=BAND_RULE,
        assumed=tuple(figures.assumed),
    )


def _most_tension(figures: Figures, width: str | None, thickness: str | None, stress: str) -> float | None:
    if width is None and thickness is None:
        return None
    if width is None or thickness is None:
        raise QuantityError("the band's steel is known by two figures", remedy="give width and thickness")
    wide = figures.read(width, "width", "in", 0.2, 6.0)
    thick = figures.read(thickness, "thickness", "in", 0.01, 0.5)
    return float(bands.tension_limit(figures.read(stress, "stress", "MPa", 1.0, 1000.0), wide, thick))


def _band_text(with_drum: float, against: float, margin: float | None, too_hard: bool, grips: bool) -> str:
    said = f"It holds {show(with_drum, 'lb ft')} where the drum pulls it tighter"
    said += f", {show(against, 'lb ft')} the other way"
    if margin is not None:
        said += f"; {margin:.2f} times what is asked"
    if too_hard:
        said += ". Its steel is pulled harder than it bears"
    if grips:
        said += ". It grips by itself: it never lets go as it should"
    return f"{said}."


def _differential(
    figures: Figures, mu: float, angle: float, tight: float, arms: tuple[str, str] | None, lever: str | None
) -> tuple[bool | None, float | None]:
    """Whether a band with both ends on one lever grips by itself, and the force its lever takes [N]."""
    if arms is None:
        return None, None
    slack_arm, tight_arm = (figures.read(text, "arm", "mm", 1.0, 2000.0) for text in arms)
    grips = bool(bands.self_locking(mu, angle, tight_arm, slack_arm))
    if lever is None:
        return grips, None
    long = figures.read(lever, "lever", "mm", 5.0, 5000.0)
    slack = float(bands.slack_tension(tight, mu, angle))
    return grips, round(float(bands.lever_force(tight, slack, tight_arm, slack_arm, long)), 2)


def _whole(figures: Figures, text: str, what: str) -> int:
    found = figures.read(text, what, "", 1.0, float(MOST_PLATES))
    if found != round(found):
        raise QuantityError(f"{what} are counted in whole plates", where=what, remedy="such as 5")
    return int(found)


def _lining(name: str) -> str:
    if name not in LININGS:
        raise QuantityError(f"no lining '{name[:40]}' is known", remedy=f"say one of: {', '.join(LININGS)}")
    return name


def _lb_ft(newton_metres: float) -> float:
    return float(f"{float(from_si(newton_metres, 'lb ft')):.4g}")


def _psi(pascal: float) -> float:
    return float(f"{float(from_si(pascal, 'psi')):.4g}")
