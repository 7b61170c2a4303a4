"""Dictation → `AlignedText`: spoken punctuation, misheard terms, spoken numbers; each an `Edit` that can be undone."""
