"""Motions, and what wheels and motors make of them."""
