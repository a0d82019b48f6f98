"""The command line: verbs that need no screen, one verb a file, and their exit codes.

The entry is `command_line.run`; `registry` lists the verbs, of which only the chosen one is imported.
Nothing here computes: each verb reads a design, asks the rooms below, and prints.
"""
