"""The smallest table of whole numbers that keeps curves over the turn to a stated error, with its proof.

The entry is `fit.fit`.
Nothing here knows what the curves mean or how a table is written down.
"""
