"""What is done to designs and how they are kept: edits, files of every version, recovery, samples.

The entries are `files.read_design` and `files.write_design`; each edit is a function from design to
design; `facts.Facts` holds what follows from a design.
Nothing here shows anything, and nothing here changes a design in place.
"""
