"""The command line: verbs that need no screen, and their exit codes.

The entry is `verbs.run`.
Nothing here computes: each verb reads a design, asks the rooms below, and prints.
"""
