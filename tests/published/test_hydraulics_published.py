"""Hydraulics against figures printed elsewhere; the source stands beside each."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.hydraulics.governor import (
    GovernorCurve,
    centrifugal_force,
    governor_from_parts,
    governor_pressure,
    governor_speed,
    lever_force,
)
from bellhousing.hydraulics.leakage import orifice_flow, pipe_flow, slot_flow
from bellhousing.hydraulics.line import circuit_flow
from bellhousing.hydraulics.lip_seal import lip_leakage
from bellhousing.hydraulics.modulator import modulator_from_parts, throttle_signal
from bellhousing.hydraulics.pump import pump_flow
from tests.published.sources import (
    ESPOSITO,
    FOX,
    KHURMI,
    LEXICON,
    MASSEY,
    MUNSON,
    SULLIVAN,
)

published = pytest.mark.published

INCH = 0.0254
POUND_FORCE = 4.4482216152605
PSI = POUND_FORCE / INCH**2
GPM = 3.785411784e-3 / 60.0
LITRE_PER_MINUTE = 1.0e-3 / 60.0
RPM = 2.0 * np.pi / 60.0
WATER = 1000.0


def hartnell(mass: float, radius: float, friction: float = 0.0) -> GovernorCurve:
    """A two-ball governor as the one-stage case of ours: unit valve area, arms 140 : 90."""
    return governor_from_parts(0.0, 2.0 * mass, radius, 0.0, 1.0, lever=140.0 / 90.0, friction=friction)


class TestGovernor:
    """Exercises of chapter 18, R. S. Khurmi and J. K. Gupta, Theory of Machines, 14th ed.

    Data and answers were seen in print; that they stand in this book and edition is from memory.
    """

    @published(
        quantity="governor load at two speeds: stiffness of its spring",
        source=KHURMI,
        place="ch. 18, exercise with 1.35 kg balls",
        code="hydraulics.governor.governor_pressure",
        figures=(0,),
    )
    @published(
        quantity="governor load at its lowest speed",
        source=KHURMI,
        place="ch. 18, exercise with 1.35 kg balls",
        code="hydraulics.governor.governor_from_parts:high",
        figures=(1,),
    )
    def test_spring_stiffness_and_initial_compression(self) -> None:
        """Two balls of 1.35 kg, arms 75 : 62.5 mm, 435 r.p.m. lowest, 420 highest: 6.3 N/mm, 87.54 mm."""
        lever = lever_force(1.0, 75.0, 62.5)
        highest = governor_from_parts(0.0, 2.7, 0.118, 0.0, 1.0, lever=lever)
        lowest = governor_from_parts(0.0, 2.7, 0.082, 0.0, 1.0, lever=lever)
        load_high = governor_pressure(highest, 420.0 * RPM)
        load_low = governor_pressure(lowest, 435.0 * RPM)
        stiffness = (load_high - load_low) / 30.0
        assert stiffness == pytest.approx(6.3, abs=0.05)
        # The book divides by its rounded 6.3 N/mm.
        assert load_low / 6.3 == pytest.approx(87.54, abs=0.1)

    @published(
        quantity="range of speed opened by a governor's friction",
        source=KHURMI,
        place="ch. 18, exercise with 2.7 kg balls",
        code="hydraulics.governor.governor_speed",
    )
    def test_friction_band_opens_a_range_of_speed(self) -> None:
        """Two balls of 2.7 kg at 125 mm and 150 r.p.m., 7 N/mm, 14 N of friction: 10.7 and 6.6 r.p.m.

        The answers follow when the load at 150 r.p.m. is taken as the spring load alone.
        """
        mean = governor_pressure(hartnell(2.7, 0.125), 150.0 * RPM)
        swing = 12.0 * 140.0 / 90.0 / 1000.0
        for sign, printed in ((-1.0, 10.7), (1.0, 6.6)):
            curve = hartnell(2.7, 0.125 + sign * swing, friction=14.0)
            spring = mean + sign * 7.0 * 12.0
            rising = governor_speed(curve, spring, direction=1)
            falling = governor_speed(curve, spring, direction=-1)
            assert (rising - falling) / RPM == pytest.approx(printed, abs=0.06)

    @pytest.mark.beside("an identity")
    def test_one_ball(self) -> None:
        """Its centrifugal force at 420 r.p.m. and 118 mm, times two and the arms, is that of the curve."""
        force = 2.0 * centrifugal_force(1.35, 0.118, 420.0 * RPM) * 1.2
        curve = governor_from_parts(0.0, 2.7, 0.118, 0.0, 1.0, lever=1.2)
        assert governor_pressure(curve, 420.0 * RPM) == pytest.approx(force, rel=1e-12)


def flow_example(source: str, place: str) -> pytest.MarkDecorator:
    """Mark of one example of the flow coefficient."""
    return published(
        quantity="flow coefficient of a valve",
        source=source,
        place=place,
        code="hydraulics.line.circuit_flow",
    )


class TestValves:
    """A. Esposito, Fluid Power with Applications; J. Sullivan, Fluid Power Theory and Applications."""

    @published(
        quantity="pressure that balances a valve's spring",
        source=ESPOSITO,
        place="ex. 8.1, p. 293",
        code="hydraulics.modulator.modulator_from_parts:full",
    )
    @pytest.mark.parametrize(("deflection", "printed"), [(0.20, 666.7), (0.30, 1000.0)])
    def test_spring_against_pressure(self, deflection: float, printed: float) -> None:
        """Esposito ex. 8.1: 0.75 in², 2,500 lb/in, 0.20 in preload, 0.10 in stroke: 667 and 1,000 psi."""
        rate, area = 2500.0 * POUND_FORCE / INCH, 0.75 * INCH**2
        modulator = modulator_from_parts(1.0, rate * deflection * INCH, area, 0.0)
        assert throttle_signal(modulator, 0.0) / PSI == pytest.approx(printed, abs=0.5)

    @published(
        quantity="flow through an orifice",
        source=ESPOSITO,
        place="ex. 8.4, p. 302",
        code="hydraulics.leakage.orifice_flow",
    )
    def test_orifice(self) -> None:
        """Esposito ex. 8.4: C 0.80, 1 in, 100 psi, SG 0.9: 252 gpm."""
        flow = orifice_flow(0.80, 0.25 * np.pi * INCH**2, 100.0 * PSI, 0.9 * WATER)
        assert flow / GPM == pytest.approx(252.0, abs=1.0)

    @published(
        quantity="discharge coefficient",
        source=SULLIVAN,
        place="ex. 5.4, p. 90",
        code="hydraulics.leakage.orifice_flow",
    )
    def test_discharge_coefficient(self) -> None:
        """Sullivan ex. 5.4: 1,000 gpm through 3.14 in² at 120 psi, SG 0.85: 0.70."""
        found = 1000.0 * GPM / orifice_flow(1.0, 3.14 * INCH**2, 120.0 * PSI, 0.85 * WATER)
        assert found == pytest.approx(0.70, abs=0.01)

    @pytest.mark.parametrize(
        ("flow", "drop", "relative", "printed"),
        [
            pytest.param(25.0, 100.0, 0.9, 2.37, marks=flow_example(ESPOSITO, "ex. 8.5")),
            pytest.param(94.8, 687.0, 0.9, 3.43, marks=flow_example(ESPOSITO, "ex. 8.5, metric")),
            pytest.param(30.0, 300.0, 0.85, 1.597, marks=flow_example(SULLIVAN, "ex. 10.1")),
        ],
    )
    def test_flow_coefficient(self, flow: float, drop: float, relative: float, printed: float) -> None:
        """Esposito ex. 8.5 (gpm, psi and l/min, kPa); Sullivan ex. 10.1."""
        assert flow / circuit_flow(drop / relative, 0.0, 1.0) == pytest.approx(printed, abs=5e-3)


class TestLeaks:
    """Laminar passages of the textbooks."""

    @published(
        quantity="leak past a piston in its bore",
        source=FOX,
        place="ex. 8.2, p. 317",
        code="hydraulics.lip_seal.lip_leakage",
    )
    def test_piston_in_its_bore(self) -> None:
        """Fox and McDonald ex. 8.2: 25 mm, 5 µm, 19 MPa, 0.018 Pa s, 15 mm: 57.57 mm³/s."""
        flow = 19e6 * lip_leakage(-5e-6, 0.0, 0.025, 0.015, 0.018)
        assert flow * 1e9 == pytest.approx(57.57, abs=0.01)

    @published(
        quantity="factor of a piston to one side of its bore",
        source=LEXICON,
        place="entry on circular sealing gaps",
        code="hydraulics.lip_seal.lip_leakage",
        figures=(0,),
    )
    @pytest.mark.parametrize(("eccentricity", "factor"), [(0.0, 1.0), (0.5, 1.375), (1.0, 2.5)])
    def test_eccentric_shaft(self, eccentricity: float, factor: float) -> None:
        """2.5 times for a piston hard against one side; the rest by integrating the cube of the gap."""
        angle = (np.arange(720) + 0.5) * np.pi / 360.0
        gap, concentric = 1e-4, np.pi * 0.025 * 1e-4**3 / (12.0 * 0.018 * 0.015)
        found = lip_leakage(-gap, eccentricity * gap, 0.025, 0.015, 0.018) / concentric
        assert found == pytest.approx(factor, abs=1e-9)
        assert np.mean((1.0 + eccentricity * np.cos(angle)) ** 3) == pytest.approx(factor, abs=1e-9)

    @published(
        quantity="flow through an annular gap: speed of a dashpot",
        source=MASSEY,
        place="ch. 6, ex. 4, p. 209",
        code="hydraulics.lip_seal.lip_leakage",
    )
    def test_dashpot(self) -> None:
        """Massey and Ward-Smith, Mechanics of Fluids, ch. 6 ex. 4: 50 in 50.4 mm, 1.4 MPa: 6.5 mm/s."""
        viscosity = 0.87 * WATER * 1e-4
        flow = 1.4e6 * lip_leakage(-0.0002, 0.0, 0.0504, 0.13, viscosity)
        assert flow / (0.25 * np.pi * 0.0504**2) == pytest.approx(6.55e-3, abs=5e-5)

    @published(
        quantity="flow through a thick annulus, as through a slot of its mean width",
        source=MUNSON,
        place="ex. 6.10, p. 331",
        code="hydraulics.leakage.slot_flow",
    )
    def test_thick_annulus(self) -> None:
        """Munson et al., Fundamentals of Fluid Mechanics, ex. 6.10: 4 and 2 mm, 1 m, 68.2 kPa: 12 ml/s.

        The gap is a third of the mean diameter, and still the thin law is right to a hundredth.
        """
        flow = slot_flow(np.pi * 0.003, 0.001, 68.2e3, 0.0045, 1.0)
        assert flow * 1e6 == pytest.approx(12.0, abs=0.12)

    @published(
        quantity="laminar flow in a pipe: pressure gradient",
        source=MASSEY,
        place="ch. 6, ex. 1, p. 196",
        code="hydraulics.leakage.pipe_flow",
    )
    def test_pipe_gradient(self) -> None:
        """Massey and Ward-Smith ch. 6 ex. 1: 2.3 m/s in 12 mm at 0.08 Pa s: 40,888.9 Pa/m."""
        flow = 2.3 * 0.25 * np.pi * 0.012**2
        assert flow / pipe_flow(0.012, 1.0, 0.08, 1.0) == pytest.approx(40888.9, abs=0.1)

    @published(
        quantity="laminar flow in a pipe: viscosity",
        source=FOX,
        place="ex. 8.4, p. 328",
        code="hydraulics.leakage.pipe_flow",
    )
    def test_capillary_viscometer(self) -> None:
        """Fox and McDonald ex. 8.4: 880 mm³/s, 1 m of 0.5 mm, 1 MPa: 1.74e-3 Pa s."""
        assert pipe_flow(0.0005, 1e6, 1.0, 1.0) / 880e-9 == pytest.approx(1.743e-3, abs=5e-6)


class TestPump:
    """Gear pumps of the textbooks."""

    @published(
        quantity="volumetric efficiency of a gear pump",
        source=ESPOSITO,
        place="ex. 5.1, p. 167",
        code="hydraulics.pump.pump_flow",
    )
    def test_efficiency_from_displacement(self) -> None:
        """Esposito ex. 5.1: 3 / 2 / 1 in, 28 gpm at 1,800 rpm: 91.5 %."""
        swept = 0.25 * np.pi * (3.0**2 - 2.0**2) * 1.0 * INCH**3
        found = 28.0 * GPM / pump_flow(swept, 1800.0 * RPM)
        assert 100.0 * found == pytest.approx(91.5, abs=0.05)

    @published(
        quantity="delivery of a gear pump", source=ESPOSITO, place="ex. 5.2", code="hydraulics.pump.pump_flow"
    )
    def test_metric_delivery(self) -> None:
        """Esposito ex. 5.2: 75 / 50 / 25 mm, 1,000 rpm, 90 %: 55.2 l/min (printed 55.3, rounded up)."""
        swept = 0.25 * np.pi * (0.075**2 - 0.050**2) * 0.025
        assert pump_flow(swept, 1000.0 * RPM, 0.90) / LITRE_PER_MINUTE == pytest.approx(55.22, abs=0.1)

    @published(
        quantity="volumetric efficiency of a pump",
        source=SULLIVAN,
        place="ex. 7.2",
        code="hydraulics.pump.pump_flow",
    )
    def test_volumetric_efficiency(self) -> None:
        """Sullivan ex. 7.2: 52 gpm, 3.75 in³, 3,300 rpm: 97.07 %."""
        found = 52.0 * GPM / pump_flow(3.75 * INCH**3, 3300.0 * RPM)
        assert 100.0 * found == pytest.approx(97.07, abs=0.01)

    @published(
        quantity="speed of a hydraulic machine from its flow",
        source=ESPOSITO,
        place="ex. 7.2, p. 259",
        code="hydraulics.pump.pump_flow",
    )
    def test_speed_from_flow(self) -> None:
        """Esposito ex. 7.2: of 5 in³ a turn, 10 gpm turn it at 462 rpm."""
        assert 10.0 * GPM / pump_flow(5.0 * INCH**3, RPM) == pytest.approx(462.0, abs=0.5)
