"""The steps in order; each knows only the one before it."""
