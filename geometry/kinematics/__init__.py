"""How a robot moves: the ideal angle of each wheel, what shared motors make of it, and what drags.

The entry is `robot.robot_of`, whose `Robot.at` and `Robot.moved` give a `Response`.
Nothing here knows of ranges of turns, of remedies, or of words.
"""
