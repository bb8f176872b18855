"""What is done to a box on the bench: coming apart, bookkeeping, going back together. No storage."""
