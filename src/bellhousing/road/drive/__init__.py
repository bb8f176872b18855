"""A car driven in simulation: what a logger on board would have written."""
