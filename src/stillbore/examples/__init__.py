"""Invented examples: a service, two kits of different build, and a rule set. Nothing here is anybody's figure."""
