"""bayvoice: a hands-free assistant for a long mechanical job in a workshop bay."""

import os

__version__ = "0.1.0"

# numpy's OpenBLAS shares even small products among threads, which wait for each other: with other programs on both
# cores a product of a millisecond takes 60 to 200. It reads this when it is loaded, so before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
