"""Sound to hypotheses: segments and the recogniser; the only place that imports vosk."""
