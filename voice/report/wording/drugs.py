"""How drugs are written down."""

from __future__ import annotations

WORDING = {
    "drug_given": "{drug}|{dose} {unit}",
}
