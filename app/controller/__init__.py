"""What the robot's controller gets, worked out once: targets, speeds, table or formula, and the runtime.

The entries are `programme.programme_of` and `steering_table.table_of`; `runtime` says in whole numbers
what every written code does.
Nothing here writes a format.
"""
