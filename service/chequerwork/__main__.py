"""``python -m chequerwork``."""

import sys

from chequerwork.cli import main

sys.exit(main())
