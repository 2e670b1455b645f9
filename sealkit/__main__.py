"""``python -m sealkit`` is the command ``sealkit``."""

import sys

from sealkit.cli import main

sys.exit(main())
