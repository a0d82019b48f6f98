"""What was designed, frozen."""
