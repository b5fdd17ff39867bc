"""Settings of the whole suite."""

from __future__ import annotations

import os

# As the command line does it, and before a test module brings numpy: threads of two tests would stand in each other's
# way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
