"""The sections of the summary, one module a subject.

Each section gives its paragraphs, and none where nothing was told.
"""
