"""Which wheels should share which steer motor, and by which ratios.

The entry is `advice.advise`, which ranks the ways; `advice.flip_facts` says what avoids a flip.
Nothing here proposes anything but gears, and nothing here changes a design.
"""
