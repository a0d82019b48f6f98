"""What is true of a wheeled robot: pure functions over frozen models and arrays.

Read `axes` first, then the rooms from low to high: `model`, `transmission`, `kinematics`, `turn_range`,
and above them `motor_sharing` and `lookup_table`.
Nothing here knows of windows, files or text formats.
"""
