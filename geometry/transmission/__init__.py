"""From motor to wheel: scales and steering laws."""
