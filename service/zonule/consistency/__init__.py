"""What a note contradicts: one room for each subject, all asking to confirm, none advising treatment."""

from zonule.consistency.finding import Checked, Found, Rule
from zonule.consistency.rules import RULES, find_inconsistencies

__all__ = ["RULES", "Checked", "Found", "Rule", "find_inconsistencies"]
