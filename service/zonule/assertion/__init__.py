"""Asserted mentions → was it done? Statuses, the reach of cues, and talk of habits."""

from zonule.assertion.statuses import Asserted, assert_mentions

__all__ = ["Asserted", "assert_mentions"]
