"""The bench page: a thin local server over ``workflow``. Knows nothing of the command line.

Here live the routes, who may ask (host, origin, pairing), the messages to open pages, and the process that does the
long work. Not here: any judgement, any number of its own, or how anything is stored.
"""
