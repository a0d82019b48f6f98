"""The calculator and its steps."""
