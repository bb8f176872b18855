"""Measuring, judging and fitting at the bench: uncertainty, verdicts, stack-ups and selective parts."""
