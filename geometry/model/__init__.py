"""What was designed: wheels, body, motors and what the controller is set to, frozen and always valid.

`design.Design` is the whole; an edit makes another one, and every rule is checked again.
Nothing here knows how a chassis moves, and nothing here reads or writes files.
"""
