"""What is printed or drawn: pictures and sheets. Knows nothing of the faces."""
