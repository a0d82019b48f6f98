"""Which wheels may share a motor."""
