"""What the speaker took back: mentions → what is left of them."""

from zonule.corrections.standing import Corrected, Retracted
from zonule.corrections.taking import apply_corrections

__all__ = ["Corrected", "Retracted", "apply_corrections"]
