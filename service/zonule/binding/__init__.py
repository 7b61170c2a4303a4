"""Asserted mentions → facts: quantities and attributes find the step, setting, lens, drug or person they belong to."""
