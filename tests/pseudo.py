"""A language made from English by a script: letters with accents, so that words left in the code are seen.

    python -m tests.pseudo FOLDER

writes ``FOLDER/qps``: every catalogue of ``grammars/en`` with its words dressed up (``Ţĥé ŕéçóŕđ``), what stands in
braces as it is; grammars and pronunciations are copied, so that English is still heard.
"""

from __future__ import annotations

import re
import shutil
import sys
from pathlib import Path

from bayvoice.language.texts import folder

LANGUAGE = "qps"
"""Private use in ISO 639-2 (qaa to qtz)."""

_PLAIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_DRESSED = "ÀƁÇĐÉƑĜĤÎĴĶĻḾŃÓÞǪŔŠŢÛṼŴẊÝŽàƀçđéƒĝĥîĵķļḿńóþǫŕšţûṽŵẋýž"
DRESS = str.maketrans(_PLAIN, _DRESSED)
UNDRESS = str.maketrans(_DRESSED, _PLAIN)


def dressed(catalogue: str) -> str:
    """A catalogue's text with its words dressed up; keys, comments, placeables and variants' names as they are."""
    out: list[str] = []
    deep, quoted = 0, False
    for line in catalogue.splitlines(keepends=True):
        variant = re.match(r"[ \t]+\*?\[\w+\]", line)
        head = variant or re.match(r"[a-zA-Z][\w-]* *=|#.*", line)
        at = head.end() if head else 0
        out.append(line[:at])
        for char in line[at:]:
            quoted ^= char == '"' and deep > 0
            deep += (char == "{" and not quoted) - (char == "}" and not quoted)
            # The words of a variant stand inside the braces of the choice.
            words = deep == (1 if variant else 0)
            out.append(char.translate(DRESS) if words else char)
    return "".join(out)


def write(target: Path) -> Path:
    """Write the language below `target`; give its folder."""
    made = target / LANGUAGE
    shutil.copytree(folder() / "en", made)
    for catalogue in made.glob("*.ftl"):
        catalogue.write_text(dressed(catalogue.read_text(encoding="utf-8")), encoding="utf-8")
    return made


if __name__ == "__main__":
    print(write(Path(sys.argv[1])))
