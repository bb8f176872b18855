"""Bellhousing: from what a mechanic found on a hydraulic automatic gearbox to its cause and the next test."""
