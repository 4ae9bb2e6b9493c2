"""States with consequences: what was said that makes other entries doubtful, asks or reminds.

All of it stands in one table, ``TABLE``; ``docs/consequences.md`` is drawn from it by
``python -m voice.figures.consequences.draw``. Everything here is worked out of the entries alone: a
correction or a withdrawal undoes what followed from the entry, and a time that is said later puts
things in their order. A remark is said and an entry marked; none is ever refused, changed or taken
out because of a rule.
"""

from __future__ import annotations

from voice.figures.consequences.answers import marks, open_states, remarks, to_settle
from voice.figures.consequences.rule import Remark, Sentence

__all__ = ["Remark", "Sentence", "marks", "open_states", "remarks", "to_settle"]
