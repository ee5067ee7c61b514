"""The moves a person can make, their cost, choosing and explaining. Knows nothing of storage or screens."""
