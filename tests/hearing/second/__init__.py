"""Tests of the second listener."""
