"""A job being done: the procedure as a table, ``step(state, event)``, and the state as a fold over the log."""
