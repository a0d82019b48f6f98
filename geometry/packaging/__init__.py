"""Whether all that a design holds fits, and how it stands: collisions, weights, tipping, inertias.

The entry is `fit.fit_of`, which gives a `Fit`; `weights.load_shares` gives loads for a design's wheels,
`masses.bodies_of` what moves as one, with mass and inertia.
Nothing here moves a part, and nothing here judges whether a chassis turns well.
"""
