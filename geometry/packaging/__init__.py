"""Whether all that a design holds fits, and how it stands: collisions, weights on the wheels, tipping.

The entry is `fit.fit_of`, which gives a `Fit`; `weights.load_shares` gives loads for a design's wheels.
Nothing here moves a part, and nothing here judges whether a chassis turns well.
"""
