"""Code with parts that can be left out: a text, what is chosen, and values for its blanks."""

from __future__ import annotations

from collections.abc import Mapping, Set
from string import Template


def filled(text: str, chosen: Set[str], values: Mapping[str, str]) -> str:
    """Keep the chosen parts of a text and fill in its blanks.

    Parameters
    ----------
    text : str
        Lines; ``%if a b`` keeps what follows up to ``%end`` where all of these are chosen, and
        ``%if !a`` where a is not; parts may nest. ``$name`` or ``${name}`` is a blank.
    chosen : set of str
        Parts to keep.
    values : mapping of str to str
        What to put into the blanks, which may have lines of their own.

    Returns
    -------
    str
        The text.

    Examples
    --------
    >>> filled(chr(10).join(["%if hold", "wait($x)", "%end", "go($x)"]), set(), {"x": "1"}).strip()
    'go(1)'
    """
    kept: list[str] = []
    stack = [True]
    for line in text.splitlines():
        if line.startswith("%if "):
            words = line.split()[1:]
            stack.append(stack[-1] and all((w.lstrip("!") in chosen) != w.startswith("!") for w in words))
        elif line == "%end":
            stack.pop()
        elif stack[-1]:
            kept.append(line)
    return Template("\n".join(kept) + "\n").substitute(values)
