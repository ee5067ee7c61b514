"""One function per task of a person; the only thing the faces call."""
