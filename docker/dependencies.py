"""Print the run-time dependencies that a pyproject.toml names, one a line.

The image installs them in a layer of their own, before the code; pip can only install them together with it.
"""

import sys
import tomllib
from pathlib import Path

project = tomllib.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))["project"]
print("\n".join(project["dependencies"]))
