"""The journal and its sound clips: what was said, kept for good."""
