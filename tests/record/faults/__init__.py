"""Faults of the disk, planted between the program and its files: see ``shim.c``."""
