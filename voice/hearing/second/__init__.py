"""A second, independently trained listener: Whisper tiny.en, kept to the legal phrases.

Its network is run with numpy alone, so that it needs nothing but its weights.
"""
