"""Tables that leave the program: what they hold, and one writer a format."""
