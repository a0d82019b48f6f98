"""Tables for the controller, fitted to a stated error."""
