"""The bench: how well hearing does, on sound that no test needs.

Run from the top folder with the dependency group ``bench`` installed and Debian's ``flite``::

    python -m tests.bench --speech ../shared/acoustic/speech --noise ../shared/helicopter_noise

It prints the tables of docs/bench.md. A figure is never taken in a timed test.
"""
