"""One car: its own parameters fitted to what it showed, and how they drift over its years."""
