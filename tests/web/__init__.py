"""The bench page: its store, its routes, what a kill leaves, and the page itself in a browser."""
