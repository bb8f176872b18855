"""Units at the edge: what people type becomes SI numbers, and goes back as it was entered."""
