"""`AlignedText` → mentions and clauses. The only room that imports spaCy."""
