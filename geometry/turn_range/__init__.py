"""Whole ranges of turns, and the turns that matter in them."""
