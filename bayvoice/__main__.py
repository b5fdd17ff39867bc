"""`python -m bayvoice`."""

import sys

from bayvoice.cli import main

sys.exit(main())
