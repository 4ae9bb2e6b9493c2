"""The leg for a hospital's record: a FHIR R4 document."""
