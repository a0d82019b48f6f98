"""All that a view shows, computed."""
