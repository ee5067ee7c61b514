"""The part 'kills': the program killed at random moments of whatever it writes, and what was lost by it.

Here live the forked children and their ends, the acts that are killed with their judges, and the figures. Not here:
machines that misbehave without a kill, which are in ``soak.adverse``.
"""
