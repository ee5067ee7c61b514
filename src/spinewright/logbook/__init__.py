"""Append-only events, replay, the session file. Knows nothing of the faces."""
