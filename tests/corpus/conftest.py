"""The modules of the corpus lie beside the tests and are found by their plain names."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
