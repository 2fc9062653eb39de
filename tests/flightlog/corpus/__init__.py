"""The same simulated flights in the shapes in which recorders really write them."""
