"""The tasks around the tune: what is done before and after it, each described once for both faces.

A task asks a few questions, answered as people write ('20 yd', '350 gr', a table pasted from a list), and gives an
``Account``: the answer in one sentence, tables, plots, cautions and sheets to print. Command line and page are made
from the same description (``register``), so neither can do what the other cannot. Answers may be kept in the logbook
and are taken from there when the task is asked again.

Import the modules themselves (``register`` for the tasks, ``running`` to run one): ``register`` loads nothing heavy.
Not here: how an account is laid out, or any picture.
"""
