"""The plan file: its model, reading, checking, explaining and changing it."""
