"""The room that a robot takes to turn: circles, lanes, kerb gaps, and what its rear cuts in on the way.

The entry is `measures.measures_of`; `swept` finds the same numbers by another way, pose by pose.
Nothing here knows of walls that stand somewhere, of units other than mm and rad, or of words.
"""
