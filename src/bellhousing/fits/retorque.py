"""Why tightening again does not bring a shrunk gasket or a hardened ring back."""

from __future__ import annotations

from dataclasses import dataclass

from bellhousing.errors import QuantityError
from bellhousing.quantities.show import show

SWELLS = 0.02
"""Share of its length that dry paper loses once oil and moisture have left it; common practice, no source."""


@dataclass(frozen=True)
class Retorque:
    """What more torque gives back of what age has taken.

    Parameters
    ----------
    lost : thickness or squeeze that has gone [m]
    regained : what the extra clamping takes up [m]
    across : what has gone along the joint, where no bolt pulls [m]
    text : why, in words
    """

    lost: float
    regained: float
    across: float
    text: str

    @property
    def share(self) -> float:
        """Share of what was lost that comes back [-]; 1 where nothing was lost."""
        return 1.0 if self.lost <= 0.0 else self.regained / self.lost


def joint_shortening(extra_force: float, length: float, area: float, modulus: float) -> float:
    """How much clamped metal shortens under more bolt force.

    Formula: ``δ = F·L/(A·E)`` [m], force F [N], clamped length L [m], area under the bolt head A [m²] and
    modulus E [Pa].

    Source: Hooke's law.
    """
    return extra_force * length / (area * modulus)


def ring_regains(
    squeeze_lost: float, extra_force: float, *, length: float, area: float, modulus: float = 70e9
) -> Retorque:
    """A ring in a groove whose faces meet metal to metal: torque only shortens the metal beside it.

    The depth of the gland is cut in the metal. More bolt force moves it by the shortening of the clamped
    parts alone, micrometres where tenths of a millimetre are gone.

    Parameters
    ----------
    squeeze_lost : by set and shrinking [m]
    extra_force : of one bolt beyond what it has [N]
    length, area, modulus : of the metal clamped under that bolt [m], [m²], [Pa]; aluminium unless said

    Raises
    ------
    QuantityError : a length, area or modulus that is not positive

    Source: Hooke's law; that rings harden and shrink with age is common practice.
    """
    if not (length > 0.0 and area > 0.0 and modulus > 0.0):
        raise QuantityError("the clamped metal needs a length, an area and a modulus", where="ring")
    regained = joint_shortening(extra_force, length, area, modulus)
    text = (
        f"{show(squeeze_lost, 'mm', digits=3)} of squeeze is gone and the faces meet metal to metal: "
        f"more torque gives back {show(regained, 'mm', digits=4)}. Only a new ring brings it back."
    )
    return Retorque(squeeze_lost, min(regained, max(squeeze_lost, 0.0)), 0.0, text)


def gasket_regains(
    thickness: float,
    shrink: float,
    extra_pressure: float,
    *,
    modulus: float,
    span: float,
    along: float = SWELLS,
) -> Retorque:
    """A paper gasket fitted dry that has shrunk: what more clamping presses back, and what it cannot reach.

    Pressed on, the paper gives way by ``Δp·t/E`` under the bolt and by nothing half-way to the next, where
    the flange only bows; along the joint it has drawn back by ``along · span``, from bolt hole to bolt hole,
    and no bolt pulls that way. On the mean over the span, ``regained = ½·Δp·t/E``.

    Parameters
    ----------
    thickness : as fitted [m]
    shrink : share of it that has gone [-]
    extra_pressure : on the paper beyond what it has, at the largest torque the threads bear [Pa]
    modulus : of the paper pressed through its thickness [Pa]
    span : from bolt to bolt [m]
    along : share by which it has drawn back along the joint [-]

    Raises
    ------
    QuantityError : a thickness, modulus or span that is not positive

    Source: Hooke's law; that paper fitted dry shrinks with age, and the half, are common practice.
    """
    if not (thickness > 0.0 and modulus > 0.0 and span > 0.0):
        raise QuantityError("the paper needs a thickness, a modulus and a span", where="gasket")
    lost = shrink * thickness
    regained = 0.5 * max(extra_pressure, 0.0) * thickness / modulus
    drawn = along * span
    text = (
        f"the paper has lost {show(lost, 'mm', digits=3)} of its thickness and drawn back "
        f"{show(drawn, 'mm', digits=2)} from bolt to bolt: all the torque the threads bear presses back "
        f"{show(min(regained, lost), 'mm', digits=3)} of the first and nothing of the second. "
        "Only a new gasket does."
    )
    return Retorque(lost, min(regained, max(lost, 0.0)), drawn, text)
