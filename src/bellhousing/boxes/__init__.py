"""What a gearbox is: the box file, its checking, and the library of invented boxes."""
