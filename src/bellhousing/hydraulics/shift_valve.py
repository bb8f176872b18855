"""One shift valve: the governor pressures and output speeds at which it goes up and comes down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.governor import GovernorCurve, governor_speed
from bellhousing.hydraulics.governor_sum import GovernorSum, sum_speed
from bellhousing.hydraulics.modulator import ThrottleSignal, throttle_signal
from bellhousing.hydraulics.regulator import Regulator, line_target

LEAST_HYSTERESIS = 0.05
"""Share by which a downshift lies below its upshift at least; common practice, no source."""


@dataclass(frozen=True)
class ShiftValve:
    """Lumped shift valve: up when g > offset + gain · m, down when g < down_offset + down_gain · m.

    Parameters
    ----------
    gain : governor pressure per throttle signal to go up [-]
    offset : governor pressure to go up without signal, the spring [Pa]
    down_gain : governor pressure per throttle signal to come down [-]
    down_offset : governor pressure to come down without signal [Pa]
    detent_gain : governor pressure per detent pressure to go up [-]
    friction : half the dead band of a sticking valve [Pa]
    stuck : -1 stuck down, 0 free, +1 stuck up
    """

    gain: Values
    offset: Values
    down_gain: Values
    down_offset: Values
    detent_gain: Values = 0.0
    friction: Values = 0.0
    stuck: Values = 0.0


@dataclass(frozen=True)
class Balance:
    """Governor pressure that balances a valve, as far as it does not hang on the vacuum.

    Parameters
    ----------
    still : without vacuum [Pa]
    fall : how much less it is per vacuum [-]
    most : with the most signal the modulator can pass, None where that has no end [Pa]
    held : with the signal of a stuck modulator, None where none is stuck [Pa]
    stuck : whether it is
    """

    still: Array
    fall: Array
    most: Array | None
    held: Array | None
    stuck: NDArray[np.bool_] | None

    def at(self, vacuum: Values) -> Array:
        """Governor pressure at a vacuum at the modulator [Pa]."""
        free = np.asarray(self.still - np.multiply(self.fall, vacuum), dtype=np.float64)
        if self.most is not None:
            free = np.minimum(free, self.most)
        if self.held is None or self.stuck is None:
            return free
        return np.where(self.stuck, self.held, free)


def balance(offset: Values, gain: Values, signal: ThrottleSignal) -> Balance:
    """Governor pressure g with g = offset + gain · m(g), m cut back by g itself; exact.

    The right side falls as g rises, so each limit of m limits the root in the same way:
    g = min((offset + gain · m₀) / (1 + gain · cutback), offset + gain · ceiling), and at least the
    offset, which the caller's detent term is never below.
    """
    # What does not hang on the vacuum is divided first: vacuum may be a whole grid for each sample.
    share = np.divide(gain, 1.0 + np.multiply(gain, signal.cutback))
    still = np.divide(offset, 1.0 + np.multiply(gain, signal.cutback)) + share * signal.full
    ends, stuck = np.isfinite(signal.ceiling).any(), np.any(signal.stuck)
    return Balance(
        still=np.asarray(still),
        fall=np.asarray(share * signal.slope),
        most=np.asarray(offset + np.multiply(gain, signal.ceiling)) if ends else None,
        held=np.asarray(offset + np.multiply(gain, signal.stuck_at)) if stuck else None,
        stuck=np.asarray(np.greater(signal.stuck, 0.5)) if stuck else None,
    )


def _balance(offset: Values, gain: Values, signal: ThrottleSignal, vacuum: Values) -> Array:
    return balance(offset, gain, signal).at(vacuum)


def upshift_governor(
    valve: ShiftValve, signal: ThrottleSignal, vacuum: Values, detent: Values = 0.0
) -> Array:
    """Governor pressure above which a free valve goes up [Pa].

    g = max(offset + gain · m(g), offset + detent_gain · detent), friction added to the offset.

    Parameters
    ----------
    valve : the shift valve
    signal : the modulator; its signal falls as governor pressure rises
    vacuum : at the modulator [Pa]
    detent : detent pressure, 0 while the pedal is off the stop [Pa]
    """
    spring = np.add(valve.offset, valve.friction)
    kicked = spring + np.multiply(valve.detent_gain, detent)
    return np.asarray(np.maximum(_balance(spring, valve.gain, signal, vacuum), kicked))


def downshift_governor(
    valve: ShiftValve,
    signal: ThrottleSignal,
    vacuum: Values,
    detent: Values = 0.0,
    up: Values | None = None,
) -> Array:
    """Governor pressure below which a free valve comes down [Pa], always below its upshift.

    g = down_offset + down_gain · max(m(g), detent), friction taken off, and at most
    (1 - LEAST_HYSTERESIS) of the upshift under the same pedal.

    Parameters
    ----------
    valve : the shift valve
    signal : the modulator
    vacuum : at the modulator [Pa]
    detent : detent pressure, 0 while the pedal is off the stop [Pa]
    up : what `upshift_governor` gives for the same, where it is known [Pa]
    """
    spring = np.subtract(valve.down_offset, valve.friction)
    kicked = spring + np.multiply(valve.down_gain, detent)
    down = np.maximum(_balance(spring, valve.down_gain, signal, vacuum), kicked)
    if up is None:
        up = upshift_governor(valve, signal, vacuum, detent)
    return np.asarray(np.minimum(down, np.multiply(1.0 - LEAST_HYSTERESIS, up)))


@dataclass(frozen=True)
class Thresholds:
    """What moves shift valves, as far as it hangs neither on the vacuum nor on the detent.

    Parameters
    ----------
    spring : governor pressure without signal or detent, the upshifts' rows, then the downshifts' [Pa]
    kick : governor pressure per detent pressure, the same [-]
    balanced : governor pressure that balances the signal, the same
    """

    spring: Array
    kick: Array
    balanced: Balance

    def least(self, detent: Values) -> Array:
        """Least governor pressure either way at a detent pressure, the same rows [Pa]."""
        return np.asarray(self.spring + np.multiply(self.kick, detent))

    def at(self, vacuum: Values, least: Array) -> tuple[Array, Array]:
        """As `upshift_governor` and `downshift_governor` give together [Pa]."""
        found = np.maximum(self.balanced.at(vacuum), least)
        half = len(found) // 2
        up, down = found[:half], found[half:]
        return up, np.minimum(down, (1.0 - LEAST_HYSTERESIS) * up)


def thresholds(valves: ShiftValve, signal: ThrottleSignal) -> Thresholds:
    """Thresholds of shift valves that one modulator loads, their fields (valves, n)."""
    spring = np.concatenate(
        [np.add(valves.offset, valves.friction), np.subtract(valves.down_offset, valves.friction)]
    )
    gain = np.concatenate([np.asarray(valves.gain), np.asarray(valves.down_gain)])
    kick = np.concatenate([np.asarray(valves.detent_gain), np.asarray(valves.down_gain)])
    return Thresholds(spring, kick, balance(spring, gain, signal))


def shift_speed(
    valve: ShiftValve,
    governor: GovernorCurve | GovernorSum,
    signal: ThrottleSignal,
    vacuum: Values,
    *,
    up: bool,
    detent: Values = 0.0,
    regulator: Regulator | None = None,
    range_name: str = "D",
    line: Values = np.inf,
) -> Array:
    """Output-shaft speed at which a valve goes up, or comes down [rad/s].

    The speed at which the governor gives the pressure the valve wants, inf where the line, which caps every
    governor signal, is below it. An upshift is 0 for a valve stuck up and inf where it never comes; a
    downshift is 0 where the valve stays up to rest and inf where it is always down.

    Parameters
    ----------
    valve, governor, signal : the parts that meet at the valve; several governor signals may push it together
    vacuum : at the modulator [Pa]
    up : the upshift, else the downshift
    detent : detent pressure, 0 while the pedal is off the stop [Pa]
    regulator : where given, its target at the shift caps the governor
    range_name : range for that target
    line : most line pressure there is otherwise, such as what the pump holds [Pa]
    """
    direction = 1 if up else -1
    wanted = (upshift_governor if up else downshift_governor)(valve, signal, vacuum, detent)
    if isinstance(governor, GovernorSum):
        cap: Values = line
        if regulator is not None:
            target = line_target(regulator, throttle_signal(signal, vacuum, wanted), range_name)
            cap = np.minimum(target, line)
        speed = sum_speed(governor, wanted, cap, direction=direction)
    else:
        speed = governor_speed(governor, wanted, direction=direction)
        never = np.greater(wanted, line)
        if regulator is not None:
            never |= _above_target(wanted, regulator, range_name, signal, vacuum)
        speed = np.where(never, np.inf, speed) if never.any() else speed
    if not np.any(valve.stuck):
        return speed
    return np.where(np.greater(valve.stuck, 0.5), 0.0, np.where(np.less(valve.stuck, -0.5), np.inf, speed))


def _above_target(
    wanted: Array, regulator: Regulator, range_name: str, signal: ThrottleSignal, vacuum: Values
) -> NDArray[np.bool_]:
    """Where a governor pressure is above the line pressure that the regulator aims at under it.

    The signal only raises that pressure, so it is worked out only where it is needed.
    """
    above = np.asarray(np.greater(wanted, line_target(regulator, 0.0, range_name)))
    if above.any():
        target = line_target(regulator, throttle_signal(signal, vacuum, wanted), range_name)
        above &= np.greater(wanted, target)
    return above
