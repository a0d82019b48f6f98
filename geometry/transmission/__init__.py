"""What stands between a motor and its wheels: how they follow its shaft, and how the shaft is counted.

The entries are `steer_law.SteerLaw`, of which `Gears` is one, and `scale.Scale`.
Nothing here knows of motions, of a whole robot, or of what is best.
"""
