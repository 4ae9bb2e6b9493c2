"""Spoilt files: what is read from outside ends in what it says, or in a sentence, and in nothing else."""
