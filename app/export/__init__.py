"""Writers: what leaves the program as text, one module a format.

`formats` lists them; each takes what `app.controller` worked out.
Nothing here decides a number, and nothing here touches the disk.
"""
