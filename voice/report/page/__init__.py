"""The leg on one page, in the order of a spoken handoff: as PDF for paper, and as HTML.

`content` says what stands on it, `chart` draws, `pdf` and `html` lay out; `fitting` decides what is
left out where paper is too small, and says so.
"""
