"""The four-speed on the road: linkage, two governor signals, two pumps, bands, clutches, coupling."""
