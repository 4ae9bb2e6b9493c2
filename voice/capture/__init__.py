"""Sound in and out: the microphone, recordings in its place, and the speaker."""
