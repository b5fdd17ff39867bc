"""The sound of notes inside the page: a page that is one file still plays them."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from typing import Final

from bayvoice.report.base.blocks import Quote
from bayvoice.report.base.markup import Markup, el
from bayvoice.report.base.words import one_line, span

MOST_BYTES: Final = 24 * 2**20
"""Bytes of sound a page holds; what comes after is named, not played."""

_KINDS: Final = {"wav": "audio/wav", "flac": "audio/flac", "ogg": "audio/ogg", "opus": "audio/ogg"}

Fetch = Callable[[str], bytes | None]
"""File name of a note's sound -> its bytes, None where it is not there."""


def no_sound(name: str) -> bytes | None:
    """Where the record's folder is not at hand."""
    return None


class Sounds:
    """Players for notes, as long as the page has room."""

    def __init__(self, fetch: Fetch) -> None:
        self._fetch = fetch
        self._room = MOST_BYTES

    def player(self, note: Quote) -> Markup:
        """A player for the note's sound, or one sentence why there is none; nothing for a typed note."""
        if not note.sound:
            return Markup("")
        data = self._fetch(note.sound)
        kind = _KINDS.get(note.sound.rpartition(".")[2].lower())
        if data is None:
            return el("p", "The sound of this note is not kept any more.", class_="kicker")
        if hashlib.sha256(data).hexdigest() != note.sha256:
            return el("p", "The sound of this note is not the one that was recorded; it is left out.", class_="broken")
        if kind is None or len(data) > self._room:
            where = f"The sound of this note is in the file {one_line(note.sound)} beside the record."
            return el("p", where, class_="kicker")
        self._room -= len(data)
        address = f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"
        return el("audio", src=address, controls="", preload="none", aria_label=f"{span(note.seconds)} of sound")
