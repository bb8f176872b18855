"""Virtual cars on which ways of finding the right work are compared."""
