"""Long runs for what no test of a few seconds finds: parts by name, their figures kept, one page of all."""
