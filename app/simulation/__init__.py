"""A robot that is driven: the written code in the loop, motors that take their time, the way that follows.

The entries are `run.Run` for a run of steps, live or by a script, and `robot_code.RobotCode` for its code.
A run holds what happens and never what was designed; whoever watches gets its frozen frames.
Nothing here knows a window, and nothing here changes a design.
"""
