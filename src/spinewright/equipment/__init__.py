"""Shaft, components, arrow build, bow, rest, archer, faces: frozen and validated. Knows nothing of storage or screens."""
