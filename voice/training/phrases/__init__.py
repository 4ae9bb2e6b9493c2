"""The trainer's tools for phrases: check, try, add, prove, teach a word, pack and install."""
