"""A four-speed driven in simulation: two planetary units with a fluid coupling between them."""
