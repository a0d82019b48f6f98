"""Upright and lying shapes: how near two come, also while one turns about a point, and which way is out.

The entries are `rectangles.gap_between` and `rectangles.ways_along` for shapes that stand still,
`sweeps.swept_gap` and `sweeps.gap_of_sweeps` for those that turn, and `heights.Heights` for heights.
Nothing here knows of parts, wheels or bodies, and nothing tries poses one after the other to find a gap.
"""
