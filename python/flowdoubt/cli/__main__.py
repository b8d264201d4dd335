"""``python -m flowdoubt.cli``."""

import sys

from flowdoubt.cli import main

sys.exit(main())
