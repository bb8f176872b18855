"""Faults as hypotheses, findings as evidence: posterior over sets of faults and the next test."""
