"""Building HTML so that text can only ever be text."""

from __future__ import annotations

import html
from typing import Final

from bayvoice.report.base.words import clean

_EMPTY: Final = frozenset({"meta", "br"})
"""Elements without an end tag (HTML Living Standard, 13.1.2, void elements), as far as they are used."""


class Markup(str):
    """HTML that is finished. Any other string is text and gets escaped."""

    __slots__ = ()


def text(value: str) -> Markup:
    """`value` as it stands, shown and never obeyed."""
    return Markup(html.escape(clean(value), quote=True))


def join(*children: str) -> Markup:
    """Children one after the other; plain strings are escaped."""
    return Markup("".join(child if isinstance(child, Markup) else text(child) for child in children))


def el(name: str, /, *children: str, **attributes: str | int | float) -> Markup:
    """One element. ``class_`` gives class, underscores in other attribute names give hyphens."""
    shown = "".join(f' {key.rstrip("_").replace("_", "-")}="{text(str(value))}"' for key, value in attributes.items())
    if name in _EMPTY:
        return Markup(f"<{name}{shown}>")
    return Markup(f"<{name}{shown}>{join(*children)}</{name}>")
