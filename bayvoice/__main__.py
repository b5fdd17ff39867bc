"""`python -m bayvoice`."""

import sys

from bayvoice.cli.main import main

sys.exit(main())
