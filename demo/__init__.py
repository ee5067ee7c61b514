"""One whole tuning session, invented from end to end, worked through the same tasks as the command line.

Lives here: the invented bench, the hidden truth that makes its arrows fly, the technician who does what is asked, and
the telling of it. Does not live here: any advice; whatever is asked for comes from ``spinewright.workflow``.
"""

__all__: list[str] = []
