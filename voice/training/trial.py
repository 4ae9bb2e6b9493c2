"""Load a model with the grammar and let it hear a second of silence; run as a process of its own.

python -m voice.training.trial MODEL_FOLDER
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from voice.entries.heard import SAMPLE_RATE, Segment
from voice.meaning.listening import Listening
from voice.session.models import Model
from voice.session.own_phrases import chosen_grammar


def main() -> None:
    """Try the model that the command names."""
    folder = Path(sys.argv[1])
    silence = Segment(0.0, np.zeros(SAMPLE_RATE, dtype=np.int16), speech_end_s=1.0)
    Model(folder.name, folder).listener(chosen_grammar(), Listening.CONFIRMING).hear(silence)


if __name__ == "__main__":
    main()
