"""What the fast parts cost, measured here and now: each module has ``rows()``, what was measured and the number."""
