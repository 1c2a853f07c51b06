"""Orders of work, one file for each build of kit."""
