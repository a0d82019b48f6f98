"""What the robot's controller gets, worked out once."""
