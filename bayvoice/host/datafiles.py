"""Reading the files of the product: procedures and grammars, from a checkout or from an installed wheel."""

from __future__ import annotations

import difflib
import os
import re
import stat
from pathlib import Path
from typing import Final

import bayvoice
from bayvoice.dialogue.steps import KINDS
from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.procedure.kind import Form, Kinds
from bayvoice.procedure.load import LONGEST_FILE, load_text
from bayvoice.procedure.mistakes import BadProcedure, Mistake
from bayvoice.procedure.model import Procedure

_PACKAGE: Final = Path(bayvoice.__file__).parent
_LANGUAGE: Final = re.compile(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*")


def data_folder(name: str) -> Path:
    """The folder `name` ("grammars", "procedures") of this installation.

    A wheel carries it in ``bayvoice/data``; in a checkout it stands beside the package.

    Raises:
        BayError: the installation has no such folder.
    """
    for folder in (_PACKAGE / "data" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise BayError(tell("host-installation-has-no-name", name=name), str(_PACKAGE), tell("host-install-bayvoice-again"))


def procedure_names() -> tuple[str, ...]:
    """Names of the procedures that ship with the product, sorted."""
    return tuple(sorted(path.stem for path in data_folder("procedures").glob("*.toml")))


def find_procedure(path_or_name: str) -> Path:
    """The file that `path_or_name` means: a path, or the name of a procedure that ships with the product.

    Raises:
        BadProcedure: there is no such file.
    """
    path = Path(path_or_name)
    if _exists(path):
        return path
    if path.name == path_or_name and path.suffix in ("", ".toml"):
        shipped = procedure_names()
        if path.stem in shipped:
            return data_folder("procedures") / f"{path.stem}.toml"
        near = difflib.get_close_matches(path.stem, shipped, n=1)
        mend = (
            tell("host-perhaps-near-is-meant", near=near[0])
            if near
            else tell("host-give-file-or-one-of-shipped", shipped=", ".join(shipped))
        )
        raise _refused(path_or_name, tell("host-no-such-procedure"), mend)
    raise _refused(path_or_name, tell("host-no-such-file"), tell("host-check-path"))


def read_procedure(path_or_name: str | os.PathLike[str], kinds: Kinds[Form] = KINDS) -> Procedure:
    """The procedure in a file, or the one of that name that ships with the product, read with all `kinds` of step.

    Raises:
        BadProcedure: missing, unreadable, no plain file, more than 2 MB, not UTF-8, or with mistakes (all of them).
    """
    given = os.fspath(path_or_name)
    return load_text(_read_text(find_procedure(given), given), given, kinds)


def read_grammars(language: str = "en") -> dict[str, str]:
    """File name -> text of every ``.gram`` file of a language, as `bayvoice.language.grammar.Grammars` takes them.

    Raises:
        BayError: there are no grammars for `language`, or one cannot be read.
    """
    folder = _language_folder(language)
    texts = {path.name: _grammar_text(path) for path in sorted(folder.glob("*.gram"))}
    if not texts:
        raise BayError(
            tell("host-no-grammars-in-language", language=language), str(folder), tell("host-install-bayvoice-again")
        )
    return texts


def read_language_file(language: str, name: str) -> str:
    """Text of another file of a language (pronunciations).

    Raises:
        BayError: there is none, or it cannot be read.
    """
    return _grammar_text(_language_folder(language) / Path(name).name)


def _language_folder(language: str) -> Path:
    folders = data_folder("grammars")
    if not _LANGUAGE.fullmatch(language) or not (folders / language).is_dir():
        known = ", ".join(sorted(path.name for path in folders.iterdir() if path.is_dir()))
        raise BayError(
            tell("host-no-grammars-in-language", language=language),
            str(folders),
            tell("host-choose-one-of-known", known=known),
        )
    return folders / language


def _grammar_text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise BayError(tell("host-file-is-not-utf-8"), str(path), tell("host-save-as-utf-8")) from None
    except OSError as why:
        raise BayError(
            tell("host-file-cannot-be-read-why", why=_reason(why)), str(path), tell("host-install-bayvoice-again")
        ) from None


def _exists(path: Path) -> bool:
    try:
        path.lstat()
    except FileNotFoundError:
        return False
    except (OSError, ValueError):
        return True
    return True


def _read_text(path: Path, given: str) -> str:
    """The file's text, line ends and a byte order mark kept, so that its digest is the file's own."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise _refused(given, tell("host-is-folder"), tell("host-name-procedure-file-in"))
        if not stat.S_ISREG(mode):
            raise _refused(given, tell("host-is-no-plain-file"), tell("host-save-procedure-in-file"))
        with path.open("rb") as file:
            data = file.read(LONGEST_FILE + 1)
    except FileNotFoundError:
        raise _refused(given, tell("host-file-is-not-there"), tell("host-check-path-or-link-leads")) from None
    except PermissionError:
        raise _refused(given, tell("host-file-may-not-be-read"), tell("host-ask-for-right-to-read")) from None
    except (OSError, ValueError) as why:
        raise _refused(given, tell("host-file-cannot-be-read-why", why=_reason(why)), tell("host-check-path")) from None
    if len(data) > LONGEST_FILE:
        raise _refused(given, tell("host-file-is-longer-than-2"), tell("host-give-file-of-one-procedure"))
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as why:
        line = data.count(b"\n", 0, why.start) + 1
        raise _refused(
            given,
            tell("host-byte-is-not-utf-8", data=f"{data[why.start]:02X}"),
            tell("host-save-as-utf-8"),
            line,
        ) from None


def _reason(why: Exception) -> str:
    text = why.strerror if isinstance(why, OSError) and why.strerror else str(why)
    return text[:1].lower() + text[1:]


def _refused(given: str, what: str, mend: str, line: int | None = None) -> BadProcedure:
    return BadProcedure([Mistake(given, "", "", what, mend, line)])
