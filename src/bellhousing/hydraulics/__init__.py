"""Oil, pump, governor, modulator, regulator and shift valves as pure functions over arrays of cars."""
