"""Zonule: a dictated eye operation in, a structured record, its gaps and the operation note out."""

__version__ = "0.1.0"
