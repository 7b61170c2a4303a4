"""Words that tell what a person did or was in the team, and how near they stand to the name."""

LAY = frozenset(
    {
        "mr",
        "mrs",
        "ms",
        "miss",
        "mister",
        "missus",
        "misses",
        "master",
        "madam",
        "madame",
        "mademoiselle",
        "monsieur",
        "frau",
        "herr",
        "mevrouw",
        "meneer",
        "señora",
        "señor",
        "shri",
        "smt",
        "alhaji",
        "hajia",
        "mx",
    }
)
LEADS = "team.surgeon"
GIVES = "team.anesthetist"
ASSISTS = "team.assistant"
BY_ACT = {
    "operating": LEADS,
    "dictating": LEADS,
    "dictates": LEADS,
    "assisting": ASSISTS,
    "assists": ASSISTS,
    "operates": LEADS,
    "supervises": "team.supervisor",
    "scrubs": "team.scrub",
    "assisted": ASSISTS,
    "helping": ASSISTS,
    "supervised": "team.supervisor",
    "supervising": "team.supervisor",
    "scrubbing": "team.scrub",
    "scrubbed": "team.scrub",
    "anaesthetising": GIVES,
    "anaesthetizing": GIVES,
    "anesthetizing": GIVES,
}
"""What stands behind a name and says what the person did."""
GAVE = frozenset({"gave", "giving", "given", "administered", "administering", "providing", "provided", "running"})
"""What the person did who stands before it, when anesthesia follows."""
RAN = frozenset({"was", "is", "on", "doing", "did", "ran", "running", "provided", "providing", "covering", "covered"})
"""Before the bare word for anesthesia: "Dr Moran was anesthesia"."""
FIELD_OF_GIVES = frozenset({"anesthesia", "anaesthesia", "anesthetic", "anaesthetic", "anaesthetics", "anesthetics"})
MANAGED = frozenset({"looking", "managing", "did", "managed", "looked", "covered", "ran", "does"})
"""Before sedation or general anesthesia: whose it was."""
LITTLE = frozenset({"the", "a", "after", "our", "her", "his", "some", "light", "for"})
PERFORMED = frozenset({"performed", "did", "performing", "doing", "carried"})
ACTS = GAVE.union(PERFORMED, BY_ACT)
WHOLE_OPERATION = frozenset({"operation", "procedure", "surgery", "case", "phaco", "phacoemulsification"})
SPEAKS = frozenset({"i", "i'll", "i'm", "i've", "i'd"})
LED = frozenset({"assisted", "supervised"})
"""Behind a name and before "by": who was helped is the surgeon."""
NO_ACT = frozenset(
    {"room", "theatre", "theater", "microscope", "list", "by", "table", "surgeon", "nurse", "nobody", "nothing", "no"}
)
"""Behind "operating", "supervised" and their like: no act."""
SMALL = frozenset({"uh", "um", "er", ",", "here", "is", "was", "now", "today", "and"})
BEFORE_NAME = (SMALL - {"and"}) | {":", "-", "the", "our", "by", "who", "this", "morning", "afternoon", "evening"}
"""Between a label and its name."""
CLOSES = frozenset({",", ".", ";", ")", "\n", "and", "left", "right"})
"""Behind a part in the team that stands behind its name: "Mr Orme surgeon, Dr Finch assistant"."""
COPULAS = frozenset({"who", "is", "was", "as", "being", "acting", "am", "were", "at", "on", "in"})
"""Between a name and what the person was: "as my assistant", "at the assistant's scope"."""
ARTICLES = frozenset({"the", "our", "my", "a", "an", "today's", "operating", "main", "duty", "consultant", "'s", "s"})
"""Between a name and its part in the team, behind a comma or one of the words above."""
BEFORE_LABEL = ARTICLES | COPULAS | {","}
BEFORE_ACT = SMALL | {"has", "have", "he", "she", "who"}
BEFORE_OWN_ACT = BEFORE_ACT | {"also"}
DICTATED = tuple(
    tuple(said.split())
    for said in (
        "dictated by", "dictation by", "note by", "report by", "i am", "i'm", "i 'm", "my name is", "my name's",
        "case done by", "operation done by", "surgery done by", "me ,", "myself ,",
        "i operated ,", "i am operating ,", "i'm operating ,", "i am the surgeon ,", "i'm the surgeon ,",
        "operating ,", "operating :", "me operating", "myself operating", "operating is", "operating today is",
        "operating today ,",
    )
)  # fmt: skip
"""Before a name: who dictates and operates."""
DICTATED_BY_END = {said[-1]: tuple(other for other in DICTATED if other[-1] == said[-1]) for said in DICTATED}
BEFORE_SPEAKER = frozenset({"i", ",", "by", "is"}).union(DICTATED_BY_END)
DEEDS = frozenset({"am", "did", "was", "performed", "operated", "carried", "have", "will"})
"""Behind "I, NAME,": what the speaker is about to tell of the operation."""
GIVEN = frozenset(
    {
        "given", "by", "done", "administered", "performed", "was", "is", "with", "-", ":", "(", ")", "uh", "um", "from",
        "put", "in", "sited", "block", "injected",
    }
)  # fmt: skip
GIVERS = frozenset({"given", "provided", "administered", "sited", "injected"})
WHOLE = frozenset({"general", "sedation"})
"""Anesthesia that is never the surgeon's own: its giver needs no "by"."""
DROPS = frozenset({"topical", "intracameral"})
"""Anesthesia that gives no part in the team."""
DOCTORS = frozenset({"dr", "doctor", "professor", "prof", "consultant", "registrar", "fellow", "resident"})
"""Who is scrubbed with one of these titles is no scrub nurse."""
HEAD = 30
"""Words at the head of a dictation within which "this is Dr Park" names who dictates."""
DENIED = 5
"""Words between a person and a denial of what the person did."""
NEAR_SURGEON = 4
"""Words between the surgeon's name and the letter of the assistant."""
REACH = 8
FAR = 20
"""Words of a sentence within which "given by Dr Moran" speaks of its anesthesia."""
