"""How a driven chassis goes: motors that take their time, the way that follows, and what it touches.

The entries are `slew.slewed`, `way.poses_along` and `swept_contact.first_touches`; targets, twists and
obstacles are handed in. `ready_courses` makes courses that suit a chassis.
Nothing here knows scripts, a controller's code or a clock.
"""
