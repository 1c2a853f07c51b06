"""Lets the tests here import their helpers, and those of the plan: importlib mode puts no folder on the path."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parent.parent / "plan"))
