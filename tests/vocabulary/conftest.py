"""The script that writes the factors lies beside the tests and is found by its plain name."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
