"""Settings of the whole suite."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile

import pytest

# As the command line does it, and before a test module brings numpy: threads of two tests would stand in each other's
# way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A record is signed with the key in the data directory: the tests have one of their own.
_DATA = tempfile.mkdtemp(prefix="bayvoice-tests-")
os.environ["XDG_DATA_HOME"] = _DATA
atexit.register(shutil.rmtree, _DATA, ignore_errors=True)

_LONGEST_FIRST = (
    "runtime",
    "ears",
    "voice",
    "record",
    "screen",
    "report",
    "procedure",
    "dialogue",
    "language",
    "trade",
)
_APART = ("test_looks.py", "test_snapshots.py")
"""Files of many slow tests that share nothing: any process may take any of their tests."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Where two processes share the work (`-n 2 --dist loadgroup`): what must stay together, and what begins.

    The tests of a file stay together, since they share what took long to make (a recogniser, speech, a record). All
    that play to an audio server of their own stay together too, so that no two measure times against each other.
    """
    for item in items:
        if item.get_closest_marker("audio_server") is not None:
            item.add_marker(pytest.mark.xdist_group("live sound"))
        elif item.path.name not in _APART:
            item.add_marker(pytest.mark.xdist_group(f"{item.path.parent.name}/{item.path.name}"))
    if len({item.path for item in items}) > 1:
        items.sort(key=lambda item: _place(item.path.parent.name))


def _place(folder: str) -> int:
    return _LONGEST_FIRST.index(folder) if folder in _LONGEST_FIRST else len(_LONGEST_FIRST)
