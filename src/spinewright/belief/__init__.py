"""An ensemble of plausible bow-archer-arrow systems, updated by evidence. Knows nothing of advice and all above."""
