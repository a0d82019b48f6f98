"""The working: each number traceable to its formula with the person's own values in it.

The entry is `wheel_working.working_text`; `calculator` holds the steps, which a pocket calculator follows.
Nothing here is used to compute what the rest of the program shows.
"""
