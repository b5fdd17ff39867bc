"""The command `vet`: procedure files looked through with what the ears know, and the file a new one begins with."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from itertools import chain
from pathlib import Path
from typing import Any

from bayvoice.ears.pronounce import PHONES, Lexicon, Pronunciation
from bayvoice.errors import BayError
from bayvoice.host.datafiles import read_language_file, read_procedure
from bayvoice.language.distance import MEASURED
from bayvoice.procedure.mistakes import BadProcedure, Mistake
from bayvoice.procedure.sounds import Sounds
from bayvoice.procedure.starting import starting_text
from bayvoice.procedure.vet import vet


def vet_files(names: Sequence[str], as_json: bool) -> int:
    """Vet each file and print what was found; the exit status, 1 where one is not in order."""
    ears = sounds()
    results: list[dict[str, Any]] = []
    bad = False
    for name in names:
        try:
            vetting = vet(read_procedure(name), name, ears)
        except BadProcedure as error:
            bad = True
            results.append({"file": name, "in_order": False, "mistakes": [_mistake(m) for m in error.mistakes]})
            if not as_json:
                print(*error.mistakes, sep="\n")
            continue
        results.append({"file": name, "in_order": True, **vetting.as_dict()})
        if not as_json:
            print("\n".join(vetting.lines()))
    if as_json:
        print(json.dumps({"procedures": results}, ensure_ascii=False, indent=2))
    return 1 if bad else 0


def _mistake(mistake: Mistake) -> dict[str, Any]:
    return {
        "line": mistake.line, "step": mistake.step, "key": mistake.key, "what": mistake.what, "mend": mistake.mend,
    }  # fmt: skip


def new_file(name: str, as_json: bool) -> int:
    """Write the file a new procedure begins with, in the folder `name` names or in this one.

    Raises:
        BayError: there is one already, or it cannot be written.
    """
    file, text = starting_text(Path(name).name)
    path = Path(name).parent / file
    try:
        with path.open("x", encoding="utf-8") as out:
            out.write(text)
    except FileExistsError:
        mend = "choose another name, or vet the one that is there"
        raise BayError("the file is there already", str(path), mend) from None
    except OSError as why:
        raise BayError(f"the file cannot be written ({why.strerror})", str(path), "name another folder") from None
    if as_json:
        print(json.dumps({"written": str(path)}, ensure_ascii=False))
    else:
        print(f"{path}: write your job over it, then: bayvoice vet {path}")
    return 0


MOST_WORKED_OUT = 300
"""Words in no dictionary whose pronunciation is worked out; each takes some milliseconds."""


def sounds(language: str = "en") -> Sounds:
    """What the recogniser's dictionary of `language` knows of words; it is read when first asked."""
    lexicon = Lexicon(read_language_file(language, "pronunciations.toml"))
    worked_out: set[str] = set()

    def said(words: Iterable[str]) -> dict[str, str]:
        words = list(words)
        lexicon.prepare(chain(words, (word[:-1] for word in words if word.endswith("s"))))
        unlisted = [word for word in words if not lexicon.listed(word)]
        worked_out.update(unlisted[: MOST_WORKED_OUT - len(worked_out)])
        found = {word: _written(lexicon(word)) if word in worked_out else "not worked out" for word in unlisted}
        return {word: found.get(word, "") for word in words}

    return Sounds(said, lexicon, MEASURED)


def _written(said: tuple[Pronunciation, ...]) -> str:
    return " ".join(PHONES[phone] for phone in said[0]) if said else "nobody knows how"
