"""Many dictations at once: an archive in, tables of records, slots, gaps and repairs out."""
