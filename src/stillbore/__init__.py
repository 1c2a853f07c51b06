"""stillbore: plans, checks and records the isolation of a live low-pressure steel gas service."""

__version__ = "0.1.0"
