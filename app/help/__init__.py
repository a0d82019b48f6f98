"""The help pages and their pictures, as data of the package.

`words.html` explains each word on the screen, `whats_new.html` what each version brought.
Nothing here is code.
"""
