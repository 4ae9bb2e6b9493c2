"""A leg for other programs: as a table, as JSON, as a FHIR document.

Every form is made from a `LegDocument` and from nothing else, not even the clock: the same leg at
the same seal gives the same bytes, so that a file can be proven by writing it again.
"""
