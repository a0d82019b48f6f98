"""Fetch pip from the package index, for a Python that comes without it; syntax of Python 3.6."""

import hashlib
import html.parser
import re
import sys
import urllib.parse
import urllib.request

INDEX = "https://pypi.org/simple/"


class _Links(html.parser.HTMLParser):
    """Collects the links of a page as (address, attributes)."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attributes):
        """Keep the link of an anchor."""
        known = dict(attributes)
        if tag == "a" and known.get("href"):
            self.found.append((known["href"], known))


def newest(page, python=None):
    """Return (link, sha256) of the newest pip wheel on an index page that this Python can run, else None."""
    minor = (python or sys.version_info)[1]
    links = _Links()
    links.feed(page)
    best = None
    for link, known in links.found:
        path, _, fragment = link.partition("#")
        name = re.search(r"(?:^|/)pip-(\d+(?:\.\d+)*)-py3-none-any\.whl$", path)
        digest = re.search(r"sha256=([0-9a-f]{64})", fragment)
        floor = re.search(r">=\s*3\.(\d+)", known.get("data-requires-python") or "")
        if not name or not digest or "data-yanked" in known or (floor and int(floor.group(1)) > minor):
            continue
        version = tuple(int(part) for part in name.group(1).split("."))
        if best is None or version > best[0]:
            best = (version, path, digest.group(1))
    return None if best is None else (best[1], best[2])


def fetched(index, place):
    """Fetch the newest pip wheel from the index into the folder `place`; its checksum must hold."""
    base = index.rstrip("/") + "/pip/"
    with urllib.request.urlopen(base, timeout=60) as answer:
        found = newest(answer.read().decode("utf-8", "replace"))
    if found is None:
        raise ValueError("the package index {} lists no pip".format(index))
    link, digest = found
    with urllib.request.urlopen(urllib.parse.urljoin(base, link), timeout=60) as answer:
        data = answer.read()
    if hashlib.sha256(data).hexdigest() != digest:
        raise ValueError("the fetched pip differs from the index's checksum")
    wheel = place / urllib.parse.unquote(link.rsplit("/", 1)[-1])
    wheel.write_bytes(data)
    return wheel
