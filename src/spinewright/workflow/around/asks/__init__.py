"""What each task around the tune asks: a module for each, with its ``TASK``; loads nothing heavy."""
