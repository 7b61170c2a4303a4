"""Where a sentence turns between what is usual, planned or long past and what was done to this eye.

There clauses are cut once more, by the wording itself where no verb or punctuation shows it.
"""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise, takewhile

from zonule.annotation.mentions import Mention
from zonule.vocabulary import Status

FORMER = frozenset({Status.HISTORICAL, Status.HYPOTHETICAL})
UNNAMED = frozenset({"cue", "word", "correction", "title", "quantity"})
"""Kinds that name nothing of the trade."""
TURNING = frozenset({"so", "but"})
"""Conjunctions that begin a new clause even when the one before has no known verb."""
NO_TURN = frozenset({"not", "just", "only", "quite", "all", "nothing", "or", "ever", "and"})
"""Words before "so" or "but" that make it no conjunction ("and so on", "all but")."""
OPENERS = frozenset({"one", "you", "we", "i", "people", "some", "most", "many", "others", "there", "whoever", "anyone"})
"""Words that begin a habit which is a clause of its own."""
MODALS = frozenset({"would", "will", "do", "'d", "'ll", "can"})
WHO = frozenset({"i", "we", "you", "i'd", "we'd", "you'd", "i'll", "we'll"})
"""Who has a habit, and what may stand between them and it."""
NOMINATIVE = frozenset({"i", "we", "he", "she", "they"})
CONTRACTED = frozenset({"i'll", "we'll", "he'll", "she'll", "they'll", "i'd", "we'd", "he'd", "she'd", "they'd"})
"""Pronouns that no preposition governs, alone and with a verb of what is to come."""
UNBROKEN = 14
"""Words; a longer sentence without a mark inside is raw text."""
PARTICLES = frozenset({"in", "on", "off", "out"})
"""Prepositions that may end a clause ("shield on")."""
TIMES = frozenset({"time", "day", "week", "month", "morning", "night"})
COLLEAGUES = frozenset({"registrar", "fellow", "resident", "trainee", "consultant", "boss", "professor", "colleague"})
"""Who has a habit that is not the speaker's."""
TAKING = frozenset({"take", "use", "put", "make", "give", "prefer", "choose", "do", "like", "want", "keep", "leave"})
"""Verbs that always have an object: where none follows, it stands before them."""
ARTICLES = frozenset({"the", "a", "an", "which", "that", "than"})
CONDITIONS = frozenset({"if", "when", "should", "unless"})
"""Words that begin a condition."""
JOINING = frozenset({"and", "or", "/", "the", "her", "his", "a", "both", "not"})
"""Words before an eye that tie it to what was said before."""
SO_THAT = frozenset({"that", "as", "on", "far", "to"})
"""Words behind "so" that make it no beginning."""
OWNERS = frozenset({"the", "her", "his"})
OTHER_REACH = 8
"""Words behind an eye within which it is said that it was done on another day."""
LEADING = frozenset(
    {"what", "how", "why", "if", "is", "was", "are", "were", "be", "been", "not", "the", "a", "i", "we"}
)
"""Words before a habit that belong to its clause."""
PAUSES = frozenset({",", ":", ";"})
MARKERS = frozenset({"okay", "ok", "alright", "anyway", "anyhow"})
"""Words with which a speaker leaves one thing for the next."""
ASKED = ("bear", "with", "me")
"""Words behind which the speaker goes on."""
OWNING = frozenset({"her", "his", "their", "my", "our", "informed", "written", "verbal", "full", "signed"})
CONSENTING = frozenset({
    "covered", "covers", "was", "is", "included", "includes", "discussed", "mentioned", "for", "form",
})  # fmt: skip
"""Words behind "consent" that tell what it was about."""
VISITS = frozenset({"visit", "appointment", "review", "check"})
VISITED = frozenset({"in", "is", "at", "on", "tomorrow"})
"""Words between "next visit" and its day."""
REASONS = frozenset({"because", "since", "as"})
"""Words that begin a reason, which says nothing of what it is the reason for."""
ACTORS = frozenset({"it", "i", "we", "he", "she", "they"})
"""Who is spoken of where "and" goes on with what was done."""
ASIDE = frozenset({"and", "or", "like", "as", "the", "her", "his", "its", "then", ","})
"""Words before the other eye that tie it to what was said before."""


class Turns:
    """The wording of one text that turns it; places count words."""

    def __init__(
        self,
        words: Sequence[str],
        mentions: Sequence[Mention],
        conjunctions: frozenset[str],
        prepositions: frozenset[str],
    ) -> None:
        cued = [(m, m.cue) for m in mentions if m.cue is not None]
        self._words = words
        self._conjunctions = conjunctions
        self._prepositions = prepositions
        self._anchors = [m for m, cue in cued if cue.anchor]
        self._apart = [m.start for m, cue in cued if cue.status not in (None, Status.NOT_DONE)]
        self._former = [
            m.start for m, cue in cued if cue.status in FORMER and cue.scope == "clause" and cue.direction != "backward"
        ]
        self._former_days = [m.start for m, cue in cued if cue.status is Status.HISTORICAL]
        self._named = [m.start for m in mentions if m.kind not in UNNAMED]
        self._sides = [m for m in mentions if m.kind == "eye" and m.id != "both"]
        self._eyes = {m.end: m.start for m in mentions if m.kind == "eye"}
        self._conditions = {m.start for m, cue in cued if cue.status is Status.HYPOTHETICAL and cue.scope == "sentence"}
        self._habits = [m for m, cue in cued if cue.scope == "frame"]
        self._fronts = {m.end: m.start for m in self._habits}
        self._fronts |= {
            m.end: m.start - 1 for m in mentions if m.kind == "anesthesia" and words[m.start - 1 : m.start] == ["under"]
        }
        self._others = others = [m for m, cue in cued if cue.status is Status.OTHER_EYE]
        self._fronts |= {m.end: m.start - 2 for m in others if words[m.end + 1 : m.end + 2] == ["had"] and m.start > 1}
        self._times = {m.end: m.start for m, cue in cued if cue.status is Status.PLANNED and words[m.end - 1] in TIMES}
        self._timed = {start: end for end, start in self._times.items()}
        self._within = {i: m.start for m in self._habits for i in range(m.start + 1, m.end)}
        named = frozenset(self._named)
        self._markers = [
            i
            for i, word in enumerate(words)
            if word in MARKERS
            or tuple(words[i - 3 : i]) == ASKED
            or (word == "next" and self._tells_visit(i))
            or (word == "consent" and self._opens_consent(i))
            or (word == "so" and i + 1 in named and words[i - 1] not in NO_TURN)
        ]

    def _tells_visit(self, i: int) -> bool:
        """Whether the day of the next visit is told ("… eye padded | next visit one week")."""
        tied = self._words[i - 1] in self._prepositions or self._words[i - 1] in ("the", "her", "his", "their")
        visit, day = [*self._words[i + 1 : i + 3], "", ""][:2]
        return not tied and visit in VISITS and (day in VISITED or day[:1].isdigit())

    def _opens_consent(self, i: int) -> bool:
        """Whether it is told what the consent was about ("… traumatic cataract | consent covered infection")."""
        before = self._words[i - 1] if i else ""
        tied = before in self._prepositions or before in self._conjunctions or before in ARTICLES or before in OWNING
        return bool(before) and not tied and self._words[i + 1 : i + 2] != [] and self._words[i + 1] in CONSENTING

    def inverts(self, verb: int) -> bool:
        """Whether a verb opens a condition ("… should the nucleus drop")."""
        return verb in self._conditions

    def take_front(self, cut: int, least: int) -> int:
        """The cut before a habit that leads its clause ("… | in general I take more vacuum")."""
        cut = max(self._within.get(cut, cut), least)
        front = self._fronts.get(cut, cut)
        led = self._words[cut] not in self._conjunctions and self._words[front - 1] not in self._prepositions
        return front if front > least and led else cut

    def open_first(self, cuts: list[int], last: int, verb: int, subject: int | None) -> list[int]:
        """A cut before the first known verb where the words before it tell something else.

        "He often rubs his eyes, so | a suture was placed", "previous vitrectomy | the bottle was lowered".
        """
        first = cuts[0]
        apart = _any_between(self._apart, first, verb)
        for i in range(verb - 1, first, -1):
            if self._words[i] == "," and self._threatens(i + 1):
                return sorted({*cuts, i + 1})
            if apart and (self._words[i] == ":" or (i > first + 1 and self._turns(i))):
                return sorted({*cuts, i + (self._words[i] == ":")})
        actor = self._actor_of(verb, first)
        if actor and last - first > UNBROKEN and PAUSES.isdisjoint(self._words[first:last]):
            return sorted({*cuts, actor})
        if not apart:
            return cuts
        told = subject is not None and first < subject < verb and _any_between(self._former, first, subject)
        return sorted({*cuts, subject}) if subject and told and _any_between(self._named, first, subject) else cuts

    def _actor_of(self, verb: int, first: int) -> int:
        """Where in raw text a clause begins whose verb has a pronoun before it ("… shield on | we'll see him …").

        0 where none does. A cue of time goes with it ("pad and shield | next time I would like him to …").
        """
        words = self._words
        at = verb - (words[verb] not in CONTRACTED)
        if at < first + 2 or words[at] not in CONTRACTED | NOMINATIVE:
            return 0
        at = self._times.get(at, at)
        before = words[at - 1]
        tied = before in self._conjunctions or before in LEADING or before in ARTICLES or before in PAUSES
        hangs = before in self._prepositions and before not in PARTICLES
        related = not ARTICLES.isdisjoint(words[max(first, at - 5) : at])
        return 0 if tied or hangs or related or not _any_between(self._named, first, at) else at

    def behind_time(self, i: int) -> int:
        """Where a time to come that stands at a word is over; the word itself where none does."""
        return self._timed.get(i, i)

    def _threatens(self, i: int) -> bool:
        """Whether it is told next what else happens ("…, or the iris will come out", "…, and if you tug there …")."""
        if self._words[i] == "or":
            return self._words[i + 1] in ARTICLES | WHO
        return self._words[i] == "and" and self._words[i + 1] in CONDITIONS

    def _turns(self, i: int) -> bool:
        return self._words[i] in TURNING and self._words[i - 1] not in NO_TURN

    def open_habits(self, cuts: list[int], last: int) -> list[int]:
        """Cuts before habits that begin right behind what was done ("… incision temporally | one may also …")."""
        found = set(cuts)
        for habit in self._habits[bisect_left(self._habits, cuts[0], key=_begins) :]:
            if habit.start >= last:
                break
            bound = cuts[bisect_left(cuts, habit.start + 1) - 1]
            start = self._actor_before(habit)
            before = self._words[start - 1]
            led = before in self._conjunctions or before in self._prepositions or before in LEADING
            opens = start < habit.start or (habit.end - habit.start > 1 and self._words[habit.start] in OPENERS)
            opens = opens or self._words[habit.end : habit.end + 1] in (["i"], ["we"])
            if opens and not led and _any_between(self._named, bound, start):
                found.add(start)
        return sorted(found)

    def _actor_before(self, habit: Mention) -> int:
        """ "… five hooks | I would normally go for a ring": where who has the habit stands, else its start.

        A noun with its article before, or a verb without its object behind, tells that what stands before belongs to
        the habit ("the lens I would normally take", "trypan blue I'd usually take for a white one").
        """
        words, at = self._words, habit.start - (self._words[habit.start - 1] in MODALS)
        if at > 1 and words[at - 1] in COLLEAGUES:
            return at - 1 - (words[at - 2] in OWNERS or words[at - 2] in ("my", "our", "a"))
        if at < 1 or words[at - 1] not in WHO or not ARTICLES.isdisjoint(words[max(0, at - 5) : at - 1]):
            return habit.start
        fronted = words[habit.end : habit.end + 1] and words[habit.end] in TAKING
        behind = words[habit.end + 1 : habit.end + 2]
        lacks = not behind or behind[0] in self._prepositions or behind[0] in self._conjunctions or behind[0] in PAUSES
        return habit.start if fronted and lacks else at - 1

    def open_reasons(self, cuts: list[int], last: int, verbs: Sequence[int]) -> list[int]:
        """Cuts around a reason that is a habit, and before what follows from a habit.

        "Forceps | since it always runs bigger, | and it finished at 5", "you always stitch a child, | so 3 sutures".
        """
        found = set(cuts)
        for habit in self._habits[bisect_left(self._habits, cuts[0], key=_begins) :]:
            if habit.start >= last:
                break
            bound = bisect_left(cuts, habit.start + 1) - 1
            end = cuts[bound + 1] if bound + 1 < len(cuts) else last
            reasons = [i for i in range(cuts[bound] + 1, habit.start) if self._words[i] in REASONS]
            if reasons and _any_between(self._named, cuts[bound], reasons[-1]):
                found.add(reasons[-1])
            early = self._reason_before(cuts, bound, verbs) if habit.start == cuts[bound] else 0
            if early:
                # "… can opener, | because capsulorhexis in these capsules, many times it runs"
                found.add(early)
                found.discard(cuts[bound])
            for i in range(habit.end, end - 2):
                if self._words[i] != ",":
                    continue
                behind = self._words[i + 1 : i + 3]
                told = behind[1] in ACTORS or behind[1].endswith("ed")
                reasoned = reasons or self._words[cuts[bound]] in REASONS
                if behind[0] == "so" or (reasoned and behind[0] == "and" and told):
                    found.add(i + 1)
                    break
        return sorted(found)

    def _reason_before(self, cuts: Sequence[int], bound: int, verbs: Sequence[int]) -> int:
        """Where a reason begins in the clause before, whose verb stands only behind the habit; 0 where none does."""
        if not bound or self._words[cuts[bound] - 1] != ",":
            return 0
        reasons = [i for i in range(cuts[bound - 1] + 1, cuts[bound]) if self._words[i] in REASONS]
        return reasons[-1] if reasons and not _any_between(verbs, reasons[-1], cuts[bound]) else 0

    def open_others(self, cuts: list[int], last: int) -> list[int]:
        """In raw text, cuts before talk of the other eye ("… shield on | other eye when he asks for it")."""
        found = set(cuts)
        for other in self._others[bisect_left(self._others, cuts[0], key=_begins) :]:
            if other.start >= last:
                break
            at = other.start - (self._words[other.start - 1] in ("the", "her", "his", "its"))
            before = self._words[at - 1] if at else "and"
            if at > cuts[0] and before not in self._prepositions and before not in ASIDE:
                found.add(at)
        return sorted(found)

    def open_markers(self, cuts: list[int], last: int) -> list[int]:
        """In raw text, cuts where the speaker goes on to the next thing ("… a possible vitrectomy | okay block …")."""
        at = bisect_left(self._markers, cuts[0] + 1)
        return sorted({*cuts, *takewhile(lambda i: i < last, self._markers[at:])})

    def open_sides(self, cuts: list[int], last: int) -> list[int]:
        """Cuts where one eye is spoken of behind the other ("left eye previous surgery … | right eye …")."""
        found = set(cuts)
        sides = self._sides[bisect_left(self._sides, cuts[0], key=_begins) :]
        for before, after in pairwise(takewhile(lambda side: side.start < last, sides)):
            word = self._words[after.start - 1]
            joined = word in self._prepositions or word in JOINING or after.start - before.end < 2
            if before.id != after.id and not joined and _any_between(self._apart, before.start, after.start):
                found.add(after.start)
            elif before.id != after.id and self._tells_other(after, cuts[0], last):
                found.add(after.start - 1)
        return sorted(found)

    def _tells_other(self, side: Mention, first: int, last: int) -> bool:
        """In raw text, whether the other eye is told of next ("… on drops | the left eye same thing last month")."""
        words = self._words
        owned = words[side.start - 1] in OWNERS and words[side.start - 2] not in self._prepositions
        owned = owned and words[side.start - 2] not in self._conjunctions and side.start - 1 > first
        raw = last - first > UNBROKEN and PAUSES.isdisjoint(words[first:last])
        return raw and owned and _any_between(self._former_days, side.end, min(last, side.end + OTHER_REACH))

    def open_so(self, cuts: list[int], last: int) -> list[int]:
        """Cuts before what followed ("the groove wouldn't crack, | so converted to stop and chop")."""
        words = self._words
        behind = (
            i
            for i in range(cuts[0] + 2, last - 2)
            if words[i] == "so" and words[i - 1] == "," and words[i + 1] not in SO_THAT
        )
        return sorted({*cuts, *behind})

    def open_this_eye(self, cuts: list[int], last: int, verbs: Sequence[int]) -> list[int]:
        """Cuts where talk of habits, plans and other days turns to this eye ("… next month | right eye today …")."""
        found = set(cuts)
        for anchor in self._anchors[bisect_left(self._anchors, cuts[0], key=_begins) :]:
            if anchor.start >= last:
                break
            bound = bisect_left(cuts, anchor.start + 1) - 1
            end = cuts[bound + 1] if bound + 1 < len(cuts) else last
            opening = self._eyes.get(anchor.start, anchor.start)
            if opening - cuts[bound] < 2 or not _any_between(self._apart, cuts[max(0, bound - 1)], opening):
                continue
            before = self._words[opening - 1]
            joined = before == "and" and self._words[opening - 2] in PAUSES
            if anchor.end == end < last and self._words[end] not in self._conjunctions and before not in PAUSES:
                found.discard(end)
            elif not (
                joined
                or before in PAUSES
                or TURNING & {before, self._words[opening]}
                or self._goes_on(anchor, end, verbs)
            ):
                continue
            found.add(opening - (joined or before in TURNING))
        return sorted(found)

    def _goes_on(self, anchor: Mention, end: int, verbs: Sequence[int]) -> bool:
        """Whether a verb follows an anchor in its clause, as it does behind "here it".

        Behind "today" anything that is named will do.
        """
        verb = _any_between(verbs, anchor.end, end) or self._words[anchor.end - 1] in ACTORS
        of_the_day = anchor.cue is not None and anchor.cue.direction == "forward"
        return verb or (of_the_day and _any_between(self._named, anchor.end, end))


def _begins(mention: Mention) -> int:
    return mention.start


def _any_between(places: Sequence[int], start: int, end: int) -> bool:
    return bisect_left(places, start) < bisect_left(places, end)
