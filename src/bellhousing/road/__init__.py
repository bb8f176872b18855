"""The box in its car: engine, converter, clutches and hydraulics together, thousands of cars at once."""
