"""The talk: a pure state machine, one table of states and transitions."""
