"""What the page of help explains: its headings and words, to be listed, searched and gone to."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

# A row that explains: the words in bold on its left, what they mean on its right.
_ROW = re.compile(r"(<td[^>]*><b>((?:(?!</td>).)*?)</b></td><td>)(.*?)(?=</td>)", re.DOTALL)
_HEADING = re.compile(r'<h[23]><a name="(\w+)"></a>(.*?)</h[23]>', re.DOTALL)


@dataclass(frozen=True)
class Place:
    """A place of the page that can be gone to."""

    title: str
    told: str
    """What stands there, in one line; empty for a heading."""
    anchor: str


def page(name: str) -> str:
    """The text of one page as it lies in the package."""
    return resources.files("app.help").joinpath(name).read_text(encoding="utf-8")


def with_anchors(text: str) -> str:
    """Give each row that explains a word an anchor of its own: ``word-0``, ``word-1``, in their order."""
    count = iter(range(len(text)))
    return _ROW.sub(lambda row: f'{row[1]}<a name="word-{next(count)}"></a>{row[3]}', text)


@lru_cache(maxsize=1)
def places() -> tuple[Place, ...]:
    """Headings and words of the page of help, the headings first."""
    text = page("words.html")
    headings = [Place(_plain(title), "", anchor) for anchor, title in _HEADING.findall(text)]
    rows = [
        Place(_plain(words), _plain(told), f"word-{n}")
        for n, (_, words, told) in enumerate(_ROW.findall(text))
    ]
    return (*headings, *rows)


def _plain(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]*>", "", text)).split())
