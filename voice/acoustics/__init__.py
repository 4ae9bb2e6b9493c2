"""The acoustic model: how it is built and trained, and where the shipped one lies.

A build-time package. The running program uses only `voice.acoustics.shipped`.
"""
