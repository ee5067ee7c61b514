"""Quantities as archers write them, axes, signs and hands. Knows nothing of equipment or anything above."""
