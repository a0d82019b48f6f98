"""Writers: what leaves the program as files, one module a format.

`registry` lists them and is the entry; each takes what `app.controller` worked out, or a design.
Nothing here decides a number, and nothing here touches the disk.
"""
