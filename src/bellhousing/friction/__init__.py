"""Clutches, bands and one-way clutches: how much they hold and what a slip costs."""
