"""How large phrases may be.

Brackets within brackets, and names within names, say in a line what no memory holds. A file that was made to
explode, or a slip that does, is refused with a sentence while it is read, not found out by the leg that does
not begin. Each bound leaves the shipped phrases ten times their size or more (`tests/meaning/test_bounds.py`).
"""

MOST_BYTES = 200_000
"""Of a file; phrase files are a few kilobytes each."""
MOST_KEYS = 20
"""Parts of a dotted key."""
MOST_NESTED = 40
"""Brackets within brackets."""
MOST_PARTS = 500
"""Words and slots of a phrase, of a rule, or of the wordings of a choice."""
MOST_WAYS = 5_000
"""In which a phrase can be said, each slot counted as one; or a choice."""
MOST_VALUES = 10_000
"""Of a range of numbers."""
MOST_FORMS = 200_000
"""In which all values of a file's slots can be said."""
FARTHEST = 10_000_000
"""From zero, of a number that is said."""
MOST_STATES = 250_000
"""Of all phrases together, before equal ones are joined; compiling so many takes half a minute."""
