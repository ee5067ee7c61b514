"""What a build is worth: forgiveness, speed, energy. Knows nothing of storage or screens."""
