"""The bending arrow and the power stroke: from full draw to release. Knows nothing of flight and all above."""
