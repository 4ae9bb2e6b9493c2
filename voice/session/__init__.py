"""A leg as it happens: everything wired together.

``session`` is the loop; ``ears`` makes out what was said, ``mouth`` speaks, ``keeper`` writes down,
``mixdown`` records how it sounded. ``setups`` puts a session together for a live microphone or for
recordings.
"""
