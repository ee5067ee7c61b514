"""The part 'adverse': full disks, folders that may not be written, clocks that go back, two who write at once.

Here live the circumstances and how what happened under each is judged. The acts are those of ``soak.kills``, and so are
their judges: nothing acknowledged may be lost and nothing half-written under these circumstances either.
"""
