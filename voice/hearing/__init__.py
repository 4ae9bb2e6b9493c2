"""Sound to words: blocks to segments, segments to whole phrases of the grammar."""
