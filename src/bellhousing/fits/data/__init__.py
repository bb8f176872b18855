"""Data files of the room."""
