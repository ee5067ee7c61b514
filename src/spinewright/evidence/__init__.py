"""What a person measured, with its noise. Knows nothing of belief and all above."""
