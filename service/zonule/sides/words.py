"""Words and bounds by which talk of the other eye is told from talk of the operated one."""

from zonule.vocabulary import Status

APART = frozenset({Status.HISTORICAL, Status.PLANNED, Status.OTHER_EYE})
AGO = frozenset({"ago", "back", "before", "earlier", "previously"})
DONE = frozenset({"done", "operated"})
YEARS = (1940, 2035)
MOST = 40
"""Mentions of the other side that are followed; a dictation names it a few times."""
NAMES = frozenset({"one", "today", "side", "eye", "lens", "was", "had", "has", "having", "will", "did", "to", "is"})
"""Words behind a bare "left" or "right" that make it an eye ("the left one", "the right was done last year")."""
LONG_SENTENCE = 45
"""Words; in a longer sentence (raw text) talk of the other eye goes on only by a pronoun or without a verb."""
ACTS = frozenset({"cleanse", "drape", "mark", "make", "inject", "insert", "emulsify", "extract", "place", "apply"})
"""Actions that are done to the operated eye."""
OPERATED = frozenset(
    {"operated", "operating", "painted", "prepped", "began", "begin", "draped", "scrubbed", "confirmed"}
)
"""Words that say so without an action of the lexicon."""
OPERATIONS = ("operation", "phaco", "extracapsular", "small_incision", "intraocular", "laser")
"""How labels and procedures begin that name the operated eye."""
IDLE = frozenset(
    {"taped", "covered", "shielded", "shut", "patched", "closed", "sees", "seeing", "blind", "amblyopic", "phthisical",
     "prosthetic", "pseudophakic", "biometry", "form", "fine", "touched", "untouched", "examined", "inspected",
     "unoperated", "wait", "waits",
     "healthy", "observed", "observe", "watched", "watch", "watching", "clear", "normal"}
)  # fmt: skip
"""Words of an eye that nothing was done to."""
REACH_BACK = 12
"""Words before an eye within which wording tells it apart."""
IDLE_REACH = 7
"""Words behind an eye within which they stand."""
HEAD = 60
"""Words at the beginning of a dictation, among which the operated eye is named."""
OWNERS = (("her",), ("his",), ("their",))
DETERMINERS = frozenset({"the", "her", "his"})
HAVING = frozenset({"had", "has", "got"})
"""Before what was done to an eye ("had its cataract done in May")."""
SAYS = frozenset({"is", "was", "'s", "it's", "on", "of", "for", "to"})
"""Words before "her left eye" that may say which eye was operated on."""
STATED = (("has",), ("had",), ("is",), ("sees",), ("still",), (":",))
"""Words behind the other eye that begin to tell how it is."""
LATER = tuple(
    (word,)
    for word in (
        "he's",
        "she's",
        "has",
        "he",
        "she",
        "will",
        "needs",
        "can",
        "next",
        "in",
        "also",
        "too",
        "we'll",
        "i'll",
    )
)
"""Words behind the other eye, when the operation is told, that speak of what is to come for it or of how it is."""
NOT_HERE = (("not", "here"), ("not", "today"), ("not", "now"), ("not", "in"))
NOT_HERE_REACH = 14
"""Words behind an eye within which it is said that this one was otherwise."""
PATCHED = frozenset({"patching", "occlusion", "patch", "occlude", "penalization", "penalisation"})
ALSO = frozenset({"also", "too", "likewise"})
"""Words right behind an eye that is told of beside the operated one ("the left eye also has a cataract")."""
GOVERNING = frozenset({"in", "of", "on", "for", "to", "with", "from", "and", "or", "into"})
"""Words before an eye that tie it to what stands in front."""
TELLING = (("'s",), ("is",), ("it's",), ("was",))
OPPOSITE = {"right": "left", "left": "right"}
