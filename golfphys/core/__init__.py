"""What every room stands on: constants with their sources, units, quantities, the ball, broadcasting, names."""
