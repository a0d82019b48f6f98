"""Judgements and advice in words."""
