"""Lens labels: what is printed or encoded on them, and how they complete a record."""

from zonule.labels.applying import apply_label, label_conflicts, same_identifier
from zonule.labels.lens_label import LensLabel
from zonule.labels.reading import decode_image, parse_label

__all__ = ["LensLabel", "apply_label", "decode_image", "label_conflicts", "parse_label", "same_identifier"]
