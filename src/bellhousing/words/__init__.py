"""What a mechanic writes or dictates, turned into findings."""
