"""Makes the variants of the example, which stand beside the plan's tests, importable here."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "plan"))
sys.path.insert(0, str(Path(__file__).parent))
