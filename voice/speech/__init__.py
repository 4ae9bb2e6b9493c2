"""Text to sound: the synthesisers, each in a child process, and the tones."""
