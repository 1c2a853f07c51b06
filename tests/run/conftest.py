"""Lets the tests here import the crew."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
