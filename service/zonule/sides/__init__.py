"""What was said of the other eye, told apart from what was said of the operated one."""

from zonule.sides.telling_apart import tell_sides_apart

__all__ = ["tell_sides_apart"]
