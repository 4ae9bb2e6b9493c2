"""How the answers of a check are written down."""

from __future__ import annotations

WORDING = {"check_answer": "check {check}, {item}|{answer}"}
