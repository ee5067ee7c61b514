"""The command line, through its runner and in processes of its own."""
