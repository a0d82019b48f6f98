"""The help pages and their pictures, as data of the package. Nothing here shows them.

`words.html` leads through a first robot and the stages and explains each word on the screen;
`whats_new.html` tells what each version brought; `contents.py` lists what can be gone to.
``python -m tests.pictures`` makes the pictures of the first robot anew.
"""
