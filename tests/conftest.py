"""Settings of the whole suite."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile

# As the command line does it, and before a test module brings numpy: threads of two tests would stand in each other's
# way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A record is signed with the key in the data directory: the tests have one of their own.
_DATA = tempfile.mkdtemp(prefix="bayvoice-tests-")
os.environ["XDG_DATA_HOME"] = _DATA
atexit.register(shutil.rmtree, _DATA, ignore_errors=True)
