"""Words → clauses: runs around one predicate each, found by punctuation where there is any and by
subjects and predicates where there is none."""

from bisect import bisect_left
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from zonule.annotation.grammar import Grammar
from zonule.annotation.mentions import Clause, Mention
from zonule.annotation.tenses import is_noun, tell_tense
from zonule.annotation.turns import Turns

RAW_SENTENCE = 60
"""Words; a longer stretch without punctuation is taken for raw recognizer output."""
UNBROKEN = 25
"""Words; only in a longer sentence does a habit begin a clause without a mark before it."""
ACTORS = frozenset({
    "i", "we", "you", "they", "he", "she", "i'd", "we'd", "i'm", "we're", "i've", "we've", "i'll", "we'll",
    "he'll", "she'll", "they'll",
})  # fmt: skip
"""Who may do something that no verb of the trade tells ("you want to see the wave")."""
NOMINATIVE = ACTORS - {"you"}
"""Pronouns that no preposition governs."""
BEING = frozenset({"was", "were"})
"""Behind these with a participle stands no object."""
LONGEST_HEAD = 6
"""Words of a term."""
TOLD = frozenset({"the", "your", "it", "that", "them"})
"""Words behind a verb that somebody is told to do it."""
COMPARING = frozenset({"than", "which", "as"})
"""First words of remarks that have no tense of their own ("a shade bigger than I'd do")."""
NEAR = 4
"""Words before somebody who acts within which a conjunction leads the clause."""
LOOSE = frozenset({"and", "or", "as", "that", "before", "after", "instead"})
"""Conjunctions that begin a clause only where a subject follows them."""
NOUNS_BEFORE = frozenset({"drug", "drug_class", "suture_material", "quantity"})
"""Kinds behind which a verb in -s is a noun ("prednisolone drops", "two nylon sutures")."""
BEFORE_NOUNS = frozenset({"the", "these", "those"})
"""Words behind which a verb in -s is a noun."""
COMPOUND = frozenset({"incision_kind", "instrument", "thing", "implant", "lens_type", "finding", "diagnosis"})
"""Kinds within whose names a word is no verb ("clear corneal")."""
NAMING = frozenset({"procedure", "parameter", "diagnosis"})
"""Kinds whose words are no command where they open a clause ("phaco and a lens", "vacuum is 420")."""
LEAST_LY = 4
"""Letters of an adverb in -ly; shorter words are none ("ply")."""
PARTICLED = frozenset({"went", "goes", "gone", "put"})
"""Verbs whose "in" is no preposition ("never went in | a second lens was placed")."""
TOTALS = frozenset({"phaco_time_s", "effective_phaco_time_s", "average_power_pct", "cumulative_dissipated_energy"})
"""What the machine has counted when the nucleus is out."""
PLACING = frozenset({"on", "at", "beside"})
"""Prepositions of a thing that stands by."""
PARTICLES = frozenset({"in", "on", "off", "out", "up"})
"""Prepositions that may end a clause as a part of its verb."""
UNMARKED = frozenset({"put", "cut", "set", "split", "let", "spread", "shut"})
"""Verbs that are the same in every tense: behind "and" they have that of the verb before."""
RELATIVES = frozenset({"what", "how", "why", "if"})
"""Words that lead the clause of somebody who acts."""
SHORTENED = frozenset({"'s", "'re", "'d", "'ll", "'m"})
"""Verbs shortened behind a pronoun."""


@dataclass(frozen=True, slots=True)
class _Predicate:
    start: int
    end: int


def _starts_at(predicate: _Predicate) -> int:
    return predicate.start


def find_clauses(
    words: Sequence[str], firsts: Sequence[int], mentions: Sequence[Mention], grammar: Grammar
) -> list[Clause]:
    """Clauses that cover all words, in order."""
    actions: dict[int, Mention] = {}
    heads: dict[int, int] = {}
    nouns = {m.end for m in mentions if m.kind in NOUNS_BEFORE}
    inside = {i for m in mentions if m.kind in COMPOUND for i in range(m.start, m.end) if m.end - m.start > 1}
    within = {i for m in mentions if m.kind in COMPOUND for i in range(m.start + 1, m.end)}
    settings = frozenset(m.start for m in mentions if m.kind == "parameter")
    for mention in mentions:
        if mention.kind == "action":
            if (mention.tense == "third" and mention.start in nouns) or _names_phase(words, mention, settings):
                continue
            if (mention.tense == "base" and mention.start in inside) or _is_thing(words, mention, grammar):
                continue
            actions.setdefault(mention.start, mention)
        elif mention.kind == "step" and words[mention.end - 1].endswith("ed"):
            actions.setdefault(mention.end - 1, replace(mention, start=mention.end - 1, tense="past"))
            heads[mention.start] = mention.end
        elif mention.kind not in ("cue", "word", "correction", "title") and mention.start not in within:
            heads[mention.start] = mention.end
    shields = (m for m in mentions if m.cue is not None and m.cue.status is None and not m.cue.anchor)
    shielded = frozenset(i for m in shields if words[m.start] in COMPARING for i in range(m.start, m.end))
    ends = frozenset(m.end for m in mentions if m.kind not in ("cue", "word", "correction", "title", "action"))
    named = frozenset(m.start for m in mentions if m.kind in NAMING)
    alone = {m.start: m.end for m in mentions if m.kind in ("thing", "step")}
    totals = [m.start for m in mentions if m.kind == "parameter" and m.id in TOTALS]
    turns = Turns(words, mentions, grammar.conjunction, grammar.preposition)
    clauses: list[Clause] = []
    for number, (first, last) in enumerate(zip(firsts, [*firsts[1:], len(words)], strict=False)):
        predicates = _predicates(words, first, last, actions, grammar)
        cuts = _cut(words, first, predicates, heads, grammar, turns)
        if last - first > RAW_SENTENCE:
            cuts = sorted({*cuts, *_cut_lists(words, predicates, cuts, last, heads, actions, grammar)})
        verbs = [p.start for p in predicates]
        if verbs:
            cuts = turns.open_first(cuts, last, verbs[0], _subject_start(words, first, verbs[0], heads, grammar))
        cuts = turns.open_so(turns.open_reasons(cuts, last, verbs), last)
        if last - first > UNBROKEN:
            cuts = turns.open_markers(turns.open_others(turns.open_habits(cuts, last), last), last)
            cuts = sorted({*cuts, *(i for i in totals if first < i < last and _opens_anew(words, i, grammar))})
            cuts = sorted({*cuts, *_commands(words, first, last, actions, ends)})
        cuts = turns.open_this_eye(turns.open_sides(cuts, last), last, verbs)
        for start, end in zip(cuts, [*cuts[1:], last], strict=True):
            names = named | {start} if _only_names(words, alone.get(start, 0), end) else named
            tense, subject = tell_tense(words, start, end, actions, grammar, names, shielded)
            before = clauses[-1] if clauses and clauses[-1].sentence == number else None
            if before is not None and tense == "past" and start < turns.behind_time(start) < end:
                # "… that one we will be doing next month | peribulbar block was given"
                start = turns.behind_time(start)
                clauses[-1] = before = replace(before, end=start)
            if (
                before is not None
                and tense == "past"
                and words[start] in ("and", "or")
                and words[start + 1 + _is_adverb(words[start + 1], grammar)] in UNMARKED
            ):
                tense = before.tense
            clauses.append(Clause(start, end, number, tense, subject))
    return clauses


def _commands(
    words: Sequence[str], first: int, last: int, actions: dict[int, Mention], ends: Collection[int]
) -> Iterator[int]:
    """In raw text, where somebody is told what to do ("incision 2.2 millimeters | keep the heel down")."""
    for i in range(first + 1, last - 1):
        action = actions.get(i)
        if action is None or action.tense != "base" or i not in ends or action.end >= last:
            continue
        if words[action.end] in TOLD:
            yield i


def _only_names(words: Sequence[str], behind: int, end: int) -> bool:
    """Whether nothing is done to anything behind a name that is a verb as well ("Shield.", "Patch and shield")."""
    return bool(behind) and (behind >= end or words[behind] in ("and", ",", ".", ";", ":"))


def _opens_anew(words: Sequence[str], i: int, grammar: Grammar) -> bool:
    """In raw text, whether what the machine counted is told next ("… never put them in | phaco time one minute")."""
    before = words[i - 1]
    tied = before in grammar.preposition - PARTICLES or before in grammar.determiner or before in grammar.conjunction
    return not tied and any(word[0].isdigit() for word in words[i + 1 : i + 5])


def _names_phase(words: Sequence[str], action: Mention, settings: Collection[int]) -> bool:
    """Whether what could be a verb is the name of a phase: "sculpt vacuum 70", "my usual sculpting power"."""
    if action.tense not in ("base", "third", "ing"):
        return False
    behind = action.end + (words[action.end : action.end + 1] in ([":"], (":",)))
    return behind in settings or (action.tense == "third" and words[max(0, action.start - 1)] in BEFORE_NOUNS)


def _predicates(
    words: Sequence[str], first: int, last: int, actions: dict[int, Mention], grammar: Grammar
) -> list[_Predicate]:
    """Verb groups in order: auxiliaries with what follows them, finite actions, subjects with their verb."""
    groups: list[_Predicate] = []
    i = first
    while i < last:
        word = words[i]
        action = actions.get(i)
        led = words[i - 1 : i] == ["to"]
        starts = (word in grammar.auxiliary and not led and not is_noun(words, i, grammar)) or (
            action is not None and action.tense in ("past", "third") and words[i - 1 : i] != ["to"]
        )
        end = 0
        if not starts and word in grammar.subject and i + 1 < last:
            following = i + 1
            while following < last and words[following] in grammar.adverb:
                following += 1
            starts = following in actions or words[following : following + 1] == ["'ve"]
            if not starts and _acts_unknown(words, i, following, last, grammar):
                starts, end = True, following + 1
        if not starts:
            i += 1
            continue
        end = end or _group_end(words, i, last, actions, grammar)
        groups.append(_Predicate(i, end))
        i = max(end, i + 1)
    return groups


def _acts_unknown(words: Sequence[str], i: int, following: int, last: int, grammar: Grammar) -> bool:
    """Whether somebody does what no verb of the trade tells ("you want to see the wave")."""
    if words[i] not in ACTORS or following >= last or _is_governed(words, i, grammar):
        return False
    word = words[following]
    if word in SHORTENED:
        return True
    closed = (grammar.preposition, grammar.conjunction, grammar.determiner, grammar.subject, grammar.auxiliary)
    return word.isalpha() and len(word) > 1 and not any(word in known for known in closed)


def _is_governed(words: Sequence[str], i: int, grammar: Grammar) -> bool:
    """Whether a pronoun hangs on the preposition before it; "he" never does ("shield on | he stays on his tablets")."""
    before = words[i - 1] if i else ""
    return before in grammar.preposition and (words[i] not in NOMINATIVE or before in grammar.conjunction)


def _group_end(words: Sequence[str], i: int, last: int, actions: dict[int, Mention], grammar: Grammar) -> int:
    end = i
    while end < last:
        if end in actions:
            return actions[end].end
        word = words[end]
        if end == i or word in grammar.auxiliary or word in grammar.negator or _is_adverb(word, grammar):
            end += 1
        else:
            break
    return end


def _is_thing(words: Sequence[str], action: Mention, grammar: Grammar) -> bool:
    """ "My cut", "povidone iodine and drapes": words that are a verb elsewhere."""
    before = words[action.start - 1] if action.start else ""
    if action.tense == "past" and words[action.start] in UNMARKED:
        return before in grammar.determiner
    return action.tense == "third" and before in ("and", "the", "her", "his")


def _is_adverb(word: str, grammar: Grammar) -> bool:
    return word in grammar.adverb or (word.endswith("ly") and len(word) > LEAST_LY)


def _cut(
    words: Sequence[str],
    first: int,
    predicates: list[_Predicate],
    heads: dict[int, int],
    grammar: Grammar,
    turns: Turns,
) -> list[int]:
    """Where clauses start: between two predicates, at the best of punctuation, conjunction and the later subject."""
    cuts = [first]
    if predicates:
        cuts += _led_by_subject(words, first, predicates[0], grammar)
    for before, after in pairwise(predicates):
        inverted = turns.inverts(after.start)
        cut = after.start if inverted else _between(words, max(before.end, cuts[-1] + 1), after.start, heads, grammar)
        if cut is not None and words[cut] == "and" and not BEING.isdisjoint(words[before.start : before.end]):
            named = heads.get(cut + 1) == after.start and words[before.end] not in grammar.preposition
            cut = _joined_subject(before.end, cut, heads) if named else cut
        if cut == before.end and words[after.start - 1] == "there" and words[cut] not in grammar.conjunction:
            # "Polished the posterior capsule | there was a plaque": what stands between is the object of the first.
            cut = after.start - 1
        if cut is not None and cut > cuts[-1]:
            cuts.append(turns.take_front(cut, before.end))
    return cuts


def _joined_subject(least: int, joint: int, heads: dict[int, int]) -> int:
    """Where a subject of two things begins, behind a verb that takes no object.

    "Sutures were not put | subconjunctival dexamethasone and gentamicin was given".
    """
    at = joint
    while at > least:
        before = max((h for h in range(max(least, at - LONGEST_HEAD), at) if heads.get(h) == at), default=-1)
        if before < 0:
            break
        at = before
    return at if at == least else joint


def _led_by_subject(words: Sequence[str], first: int, verb: _Predicate, grammar: Grammar) -> list[int]:
    """Where the first known verb has its own subject behind a comma ("drops start tomorrow, | and I'll see her")."""
    for i in range(min(verb.start + 1, len(words) - 1), max(first + 1, verb.start - NEAR), -1):
        acts = words[i] in grammar.subject or words[i].startswith(("i'", "we'"))
        if acts and words[i - 1] == "," and words[i] in ACTORS:
            return [i]
        if acts and words[i - 2] == "," and words[i - 1] in grammar.conjunction:
            return [i - 1]
    return []


def _cut_lists(
    words: Sequence[str],
    predicates: list[_Predicate],
    cuts: list[int],
    last: int,
    heads: dict[int, int],
    actions: dict[int, Mention],
    grammar: Grammar,
) -> list[int]:
    """In raw text, where a predicate has its object and things are listed without a verb ("… need it | drape …")."""
    found = []
    bounds = [*cuts, last]
    for start, end in pairwise(bounds):
        inside = predicates[
            bisect_left(predicates, start, key=_starts_at) : bisect_left(predicates, end, key=_starts_at)
        ]
        if not inside:
            continue
        at = inside[-1].end
        listed = (h for h in range(at + 1, end) if h in heads and _stands_alone(words, at, h, heads, actions, grammar))
        found += [h for h in (next(listed, None),) if h is not None]
    return found


def _stands_alone(
    words: Sequence[str], at: int, head: int, heads: dict[int, int], actions: dict[int, Mention], grammar: Grammar
) -> bool:
    """Whether a term is no object, complement or member of a list that began before it; "in the bag" never is alone."""
    if words[head] in grammar.preposition:
        return False
    for i in range(head - 1, max(at, head - 5) - 1, -1):
        word = words[i]
        if i in actions or word in grammar.auxiliary or word in grammar.negator or word in grammar.conjunction:
            return False
        if word in grammar.determiner or word in grammar.preposition or word == ",":
            return False
        if any(heads.get(start, 0) > i for start in range(head - 8, i + 1)):
            return True
        if word in grammar.pronoun:
            return True
    return head - at > 4


def _between(words: Sequence[str], start: int, end: int, heads: dict[int, int], grammar: Grammar) -> int | None:
    weak = None
    end, acts = _who_acts(words, start, end, grammar)
    for i in range(end - 1, (max(start, end - NEAR) if acts else start) - 1, -1):
        word = words[i]
        if word in ",:;()\n":
            return i + 1
        if word in grammar.conjunction:
            following = words[i + 1] if i + 1 < len(words) else ""
            if (
                i + 1 >= end
                or following in grammar.determiner
                or following in grammar.subject
                or following in grammar.adverb
                or word not in LOOSE
            ):
                return i
            weak = weak if weak is not None else i
    if acts:
        return end - 1 if words[end - 1] in RELATIVES and end - 1 > start else end
    subject = _subject_start(words, start, end, heads, grammar)
    if weak is not None and (subject is None or subject <= weak + 1 or (subject == end and end - weak <= 3)):
        return weak
    return subject


def _who_acts(words: Sequence[str], start: int, end: int, grammar: Grammar) -> tuple[int, bool]:
    """Where the clause of a predicate at `end` begins when a pronoun is its subject, and whether one is."""
    at = end - 1 if end - 1 > start and words[end - 1] in grammar.subject else end
    acts = words[at] in ACTORS or words[at] == "it" or (words[at] == "one" and words[at + 1] in grammar.modal)
    return (at, True) if acts and not _is_governed(words, at, grammar) else (end, False)


def _subject_start(words: Sequence[str], start: int, end: int, heads: dict[int, int], grammar: Grammar) -> int | None:
    """The start of the noun phrase that ends right before `end`, found by its determiner or its own term."""
    for i in range(end - 1, max(start, end - 7) - 1, -1):
        attached = words[i] == "of" or (words[i] == "for" and any(heads.get(h) == i for h in range(i - 4, i)))
        if words[i] in grammar.preposition and i + 1 < end and not attached and words[i - 1] not in PARTICLED:
            return _with_place(words, start, i, grammar) or _nearest(words, start, end, heads, grammar)
        governed = i > start and words[i - 1] in grammar.preposition and words[i - 2] not in PARTICLED
        if words[i] in grammar.determiner and not governed:
            return (i == start and _behind_object(words, start, end, heads, grammar)) or i
    return _nearest(words, start, end, heads, grammar)


def _behind_object(words: Sequence[str], start: int, end: int, heads: dict[int, int], grammar: Grammar) -> int | None:
    """ "They have kept a claw lens there | surgeon is …": the term right before a verb, where an object comes first."""
    if words[start - 1] in grammar.auxiliary or words[start] not in ("a", "an"):
        return None
    own = _nearest(words, start + 1, end, heads, grammar)
    named = own is not None and any(start < h < own for h in heads)
    return own if named and own is not None and heads.get(own) == end else None


def _with_place(words: Sequence[str], start: int, at: int, grammar: Grammar) -> int | None:
    """Where "the other box on the trolley" begins, whose preposition stands at `at`."""
    if words[at] not in PLACING:
        return None
    for i in range(at - 2, max(start, at - 4), -1):
        if words[i] in grammar.determiner and words[i - 1] not in grammar.preposition:
            return i
    return None


def _nearest(words: Sequence[str], start: int, end: int, heads: dict[int, int], grammar: Grammar) -> int | None:
    """The start of the term that ends right before `end`."""
    nearest = [h for h in range(start, end) if h in heads and end - heads[h] <= 2]
    if nearest and words[max(nearest) - 1] in ("in", "for"):
        # "My usual vacuum in chop is 380": what stands before the preposition is the subject.
        led = [h for h in range(start, max(nearest)) if heads.get(h) == max(nearest) - 1]
        if led:
            return _subject_start(words, start, max(nearest) - 1, heads, grammar)
    return max(nearest) if nearest else (end if end > start else None)
