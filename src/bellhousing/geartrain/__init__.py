"""Planetary gear trains of any layout: speeds, torques, power and which elements hold."""
