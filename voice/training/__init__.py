"""Tools for the desk, before and between legs: other models, and how they hear a voice."""
