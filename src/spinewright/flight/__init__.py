"""From release to paper and target; wind; heads. Knows nothing of evidence and all above."""
