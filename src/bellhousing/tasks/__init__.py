"""The use cases: the only room that joins rooms."""
