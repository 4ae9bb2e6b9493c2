"""Text to sound: the synthesisers and the tones."""
