"""``python -m stillbore``."""

from stillbore.cli import main

main()
