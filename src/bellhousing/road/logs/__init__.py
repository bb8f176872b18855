"""Logs of a drive: any delimited text read into tracks, and tracks into gears, shifts, slip and findings."""
