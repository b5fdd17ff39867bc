"""Finding a Vosk model and making sure that it loads, before the C library gets it into this process.

The library ends the whole process on some faults of a model (a truncated graph, say), so the files are looked at
first and then the model is loaded once in a process of its own; a verdict holds as long as the files stay the same.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path
from typing import Final

import platformdirs

from bayvoice.errors import BayError
from bayvoice.language.texts import tell

VARIABLE: Final = "BAYVOICE_VOSK_MODEL"
_FILES: Final = ("am/final.mdl", "conf/mfcc.conf", "graph/HCLr.fst", "graph/Gr.fst")
_IVECTOR: Final = ("final.dubm", "final.ie", "final.mat", "global_cmvn.stats", "online_cmvn.conf", "splice.conf")
_LONGEST_LOAD_S: Final = 180.0
_MEND: Final = "ears-unpack-small-vosk-model-again"

# Runs in the other process: load, set a list, decode a moment of silence.
_TRIAL: Final = """\
import sys, vosk
vosk.SetLogLevel(-1)
recogniser = vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), 16000.0, '["[unk]"]')
recogniser.AcceptWaveform(bytes(16000))
recogniser.FinalResult()
print("loaded")
"""


def find_model() -> Path | None:
    """The user's model: ``BAYVOICE_VOSK_MODEL``, else one in the data folder of bayvoice, else None.

    In the data folder, ``vosk`` is the model or holds it as its only folder.

    Raises:
        BayError: the variable names no folder, or the data folder holds several models.
    """
    if named := os.environ.get(VARIABLE, ""):
        if not Path(named).is_dir():
            raise BayError(
                tell("ears-vosk-model-is-not-there"), named, tell("ears-correct-variable-or-unset", variable=VARIABLE)
            )
        return Path(named)
    folder = platformdirs.user_data_path("bayvoice") / "vosk"
    if (folder / "am").is_dir():
        return folder
    try:
        inside = sorted(path for path in folder.iterdir() if path.is_dir())
    except OSError:
        return None
    if len(inside) > 1:
        raise BayError(
            tell("ears-many-vosk-models", count=len(inside)),
            str(folder),
            tell("ears-keep-one-or-name-in-variable", variable=VARIABLE),
        )
    return inside[0] if inside else None


def look_at(model: Path) -> None:
    """Check that the files of a model that takes phrase lists are there.

    Raises:
        BayError: one is missing or empty, or the model takes no lists.
    """
    if (model / "graph" / "HCLG.fst").is_file() and not (model / "graph" / "HCLr.fst").exists():
        raise BayError(tell("ears-vosk-model-takes-no-phrase"), str(model), tell("ears-use-one-of-small-models"))
    wanted = [*_FILES, *(f"ivector/{name}" for name in _IVECTOR if (model / "ivector").is_dir())]
    for name in wanted:
        try:
            size = (model / name).stat().st_size
        except OSError:
            size = 0
        # An empty options file is in order, an empty network or graph is not.
        if size == 0 and not (name.endswith(".conf") and (model / name).is_file()):
            raise BayError(tell("ears-vosk-model-is-not-whole", name=name), str(model), tell(_MEND, variable=VARIABLE))


def try_out(model: Path) -> None:
    """Load `model` in a process of its own, unless the same files have been found good before.

    Raises:
        BayError: it does not load.
    """
    mark = platformdirs.user_cache_path("bayvoice") / "vosk" / fingerprint(model)
    if mark.exists():
        return
    broken = BayError(tell("ears-vosk-model-cannot-be-loaded"), str(model), tell(_MEND, variable=VARIABLE))
    try:
        trial = subprocess.run(
            [sys.executable, "-c", _TRIAL, str(model)], capture_output=True, timeout=_LONGEST_LOAD_S, check=False
        )
    except (OSError, subprocess.TimeoutExpired):
        raise broken from None
    if trial.returncode != 0 or b"loaded" not in trial.stdout:
        raise broken
    try:
        mark.parent.mkdir(parents=True, exist_ok=True)
        mark.touch()
    except OSError:
        pass  # only means that it is tried out again next time


def fingerprint(model: Path) -> str:
    """A name that changes when a file of the model changes its size, its time or its place."""
    seen = hashlib.sha256(str(model.resolve()).encode())
    for path in sorted(model.rglob("*")):
        if path.is_file():
            facts = path.stat()
            seen.update(f"\0{path.relative_to(model)}\0{facts.st_size}\0{facts.st_mtime_ns}".encode())
    return seen.hexdigest()[:32]
