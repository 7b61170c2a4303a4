"""Dictation → `AlignedText`: spoken punctuation, misheard terms and spoken numbers, each an `Edit` that can be undone."""
