"""The talk: a pure state machine, one table of states and transitions.

``events`` come in, ``actions`` go out; ``state`` is what is remembered between; ``machine`` holds
the table and ``step``. There is no clock, no sound and no disk in here.
"""
