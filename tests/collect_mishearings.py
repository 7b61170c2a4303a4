"""Collect misheard trade terms by machine: speak them, have them recognized offline, keep what was heard.

Needs the Debian packages espeak-ng, flite, sox, pocketsphinx and pocketsphinx-en-us. No test runs this file; it made
``cases/mishearings/by_synthesizer.toml`` and makes the same file again from the same package versions::

    python tests/collect_mishearings.py speak FOLDER     # one recording a term and voice
    python tests/collect_mishearings.py recognize FOLDER # writes FOLDER/heard.txt
    python tests/collect_mishearings.py keep FOLDER      # filters and writes by_synthesizer.toml
        # the same with --in-notes: sentences of operation notes, into in_notes.toml
    python tests/collect_mishearings.py split            # assigns tune or test to the cases of both files

The filter is stated in the head of the file it writes. All its limits are constants below.
"""

import argparse
import hashlib
import itertools
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from rapidfuzz.distance import Levenshtein

CASES = Path(__file__).parent / "cases" / "mishearings"
MODEL = Path("/usr/share/pocketsphinx/model/en-us")
SEED = "mishearings 1"
SOUND_LIMIT = 0.6
"""Least likeness of the phonemes of what was heard and of the term, 0 to 1."""
LETTER_LIMIT = 0.5
"""Least likeness of the letters, joined without spaces, 0 to 1."""
ANCHOR_WORDS = 2
"""So many carrier words on each side of the term (or all there are) must have been heard right."""
CASES_A_TERM = 4
REFUSED_WORDS = frozenset(
    {"ass", "asses", "condom", "cunt", "fuck", "fucked", "fucker", "fucking", "phallic", "sex", "shit", "whore"}
    | {"cadbury", "dryden", "irs", "kimble", "lsd", "strachan", "vespa"}
)
"""Coarse words, which a recognizer masks, and names of goods and people."""

VOICES: dict[str, tuple[str, ...]] = {
    "flite-rms": ("flite", "-voice", "rms"),
    "flite-slt": ("flite", "-voice", "slt"),
    "flite-slt-slow": ("flite", "-voice", "slt", "--setf", "duration_stretch=1.25"),
    "flite-awb": ("flite", "-voice", "awb"),
    "flite-kal16-fast": ("flite", "-voice", "kal16", "--setf", "duration_stretch=0.9"),
    "espeak-ng-en-us-145": ("espeak-ng", "-v", "en-us", "-s", "145"),
    "espeak-ng-en-gb-150": ("espeak-ng", "-v", "en-gb", "-s", "150"),
    "espeak-ng-en-gb-scotland-140": ("espeak-ng", "-v", "en-gb-scotland", "-s", "140"),
}

HEAD = f"""\
# What an offline general-purpose recognizer heard when speech synthesizers spoke trade terms inside carrier sentences.
# Made by tests/collect_mishearings.py from spoken/terms.toml; do not edit by hand.
# Kept are cases where
#  - the {ANCHOR_WORDS} carrier words on each side of the term (or all there are) were heard right, so that what stands
#    between them is what was heard for the term;
#  - it is not the term itself (case, hyphens and apostrophes aside), its singular or plural, the term with words
#    around it, or another term of the list, and holds no coarse word, no name of goods or people;
#  - likeness (1 - normalized edit distance) to the term, spaces removed, is at least {SOUND_LIMIT} in phonemes
#    and {LETTER_LIMIT} in letters;
#  - no earlier case has the same words for the same term; at most {CASES_A_TERM} for one term, drawn by a seeded hash.
# set: a repair method may look at "tune" only; "test" measures it. Assigned by a seeded hash of heard and term.
"""

HEAD_IN_NOTES = HEAD.replace(
    "# set:",
    "#  - no other term of the list sounds more like what was heard.\n"
    "# Here the sentences are those of an operation note; around the term they stand as they were spoken.\n# set:",
).replace("a seeded hash of heard and term", "a seeded hash of the term, so that no term stands in both")


@dataclass(frozen=True)
class Utterance:
    """One recording: a term inside a carrier sentence (``{}`` is the term's place), spoken by one voice."""

    name: str
    term: str
    carrier: str
    voice: str


@dataclass(frozen=True)
class Case:
    """What was heard for a term, the whole phrase heard around it, and the voice that spoke (none if by hand)."""

    heard: str
    term: str
    phrase: str
    voice: str = ""


def list_utterances(path: Path, sentences: str) -> Iterator[Utterance]:
    """Every term by every voice; the carriers of its kind under the key `sentences` take turns."""
    for kind in tomllib.loads(path.read_text("utf-8"))["kind"]:
        for term_number, term in enumerate(kind["terms"]):
            for voice_number, voice in enumerate(VOICES):
                carrier = kind[sentences][(term_number + voice_number) % len(kind[sentences])]
                yield Utterance(f"{kind['name']}-{term_number:03d}-{voice}", term, carrier, voice)


def speak(utterance: Utterance, folder: Path) -> None:
    """Write the utterance as raw 16 kHz mono 16-bit audio, the recognizer's format."""
    wave, raw = folder / f"{utterance.name}.wav", folder / f"{utterance.name}.raw"
    if raw.exists():
        return
    words = utterance.carrier.format(utterance.term)
    program, *options = VOICES[utterance.voice]
    output = ("-w", str(wave), words) if program == "espeak-ng" else ("-t", words, "-o", str(wave))
    subprocess.run([program, *options, *output], check=True)
    layout = ("-r", "16000", "-c", "1", "-b", "16", "-e", "signed-integer", "-t", "raw")
    # No dither, which is random: the same speech must give the same bytes. -V1: a clipped sample is not worth a line.
    subprocess.run(["sox", "-V1", "-D", str(wave), *layout, str(raw), "pad", "0.3", "0.4"], check=True)
    wave.unlink()


def recognize(utterances: Iterable[Utterance], folder: Path) -> None:
    """Recognize all recordings of the folder into ``heard.txt``: the words, then the recording's name in brackets."""
    control = folder / "recordings.txt"
    control.write_text("".join(f"{utterance.name}\n" for utterance in utterances), "utf-8")
    model = ("-hmm", MODEL / "en-us", "-lm", MODEL / "en-us.lm.bin", "-dict", MODEL / "cmudict-en-us.dict")
    audio = ("-adcin", "yes", "-cepdir", folder, "-cepext", ".raw", "-ctl", control)
    command = ["pocketsphinx_batch", *model, *audio, "-hyp", folder / "heard.txt", "-logfn", folder / "log.txt"]
    subprocess.run([str(part) for part in command], check=True)


def read_heard(path: Path) -> dict[str, list[str]]:
    """Words heard by recording name; the lines read ``words heard (name score)``."""
    heard = {}
    for line in path.read_text("utf-8").splitlines():
        words, _, name = line.rpartition("(")
        heard[name.split()[0]] = words.split()
    return heard


def find_term(words: list[str], carrier: str) -> tuple[int, int] | None:
    """The range of words heard in the term's place, or None where the carrier beside it was not heard right."""
    before, after = (side.split() for side in carrier.split("{}"))
    left, right = before[-ANCHOR_WORDS:], after[:ANCHOR_WORDS]
    starts = [i for i in range(len(left), len(words)) if words[i - len(left) : i] == left] if left else [0]
    ends = [i for i in range(1, len(words) + 1) if words[i : i + len(right)] == right] if right else [len(words)]
    return next(((start, end) for start in starts for end in reversed(ends) if start < end), None)


def fold(words: str) -> str:
    """Lower case, hyphens as spaces, no apostrophes: what a listener cannot tell apart."""
    return " ".join(words.lower().replace("-", " ").replace("'", "").split())


def singular(words: str) -> str:
    """Each word without a last s: a plural is another form of a term, not a mishearing."""
    return " ".join(word.removesuffix("s") for word in words.split())


@cache
def sound_out(words: str) -> str:
    """Phonemes without stress, length and word borders."""
    spoken = subprocess.run(
        ["espeak-ng", "-q", "--ipa", "-v", "en-us", words], check=True, capture_output=True, encoding="utf-8"
    )
    return "".join(sign for sign in spoken.stdout if sign.isalpha() and sign not in "ːˈˌ")


def sounds_like(heard: str, term: str) -> bool:
    """Whether a person could take what was heard for the term."""
    letters = Levenshtein.normalized_similarity(fold(heard).replace(" ", ""), fold(term).replace(" ", ""))
    sounds = Levenshtein.normalized_similarity(sound_out(heard), sound_out(term))
    return sounds >= SOUND_LIMIT and letters >= LETTER_LIMIT


def is_misheard(heard: str, term: str, terms: frozenset[str]) -> bool:
    """Whether the words are not the term, alone or with words around it, nor any other term (``terms``, folded)."""
    words, wanted = singular(fold(heard)), singular(fold(term))
    return fold(heard) not in terms and f" {wanted} " not in f" {words} " and REFUSED_WORDS.isdisjoint(heard.split())


def is_nearest(case: Case, terms: Iterable[str]) -> bool:
    """Whether no other term sounds more like what was heard: what is nearer to another one nobody can tell."""
    heard = sound_out(fold(case.heard))
    likeness = {term: Levenshtein.normalized_similarity(heard, sound_out(fold(term))) for term in terms}
    return likeness[case.term] == max(likeness.values())


def in_sentence(case: Case, carrier: str) -> Case:
    """The case in the sentence as it was spoken, so that nothing else in it is misheard."""
    return replace(case, phrase=carrier.format(case.heard))


def draw(case: Case) -> str:
    """A number that looks random but depends on the case and the seed alone."""
    return hashlib.sha256(f"{SEED}|{case.heard}|{case.term}".encode()).hexdigest()


def hear_cases(utterances: Iterable[Utterance], heard: dict[str, list[str]]) -> Iterator[Case]:
    """What was heard in each term's place, right or wrong."""
    for utterance in utterances:
        words = heard.get(utterance.name, [])
        if (found := find_term(words, utterance.carrier)) is not None:
            yield Case(" ".join(words[slice(*found)]), utterance.term, " ".join(words), utterance.voice)


def keep_cases(cases: Iterable[Case], taken: Iterable[Case]) -> list[Case]:
    """The cases that pass the filter, without those already ``taken``, sorted by term and words."""
    heard_cases = list(cases)
    terms = frozenset(fold(case.term) for case in heard_cases)
    seen = {(fold(case.heard), fold(case.term)) for case in taken}
    kept: dict[str, list[Case]] = {}
    for case in heard_cases:
        key = fold(case.heard), fold(case.term)
        if key not in seen and is_misheard(case.heard, case.term, terms) and sounds_like(case.heard, case.term):
            seen.add(key)
            kept.setdefault(case.term, []).append(case)
    chosen = itertools.chain.from_iterable(sorted(group, key=draw)[:CASES_A_TERM] for group in kept.values())
    return sorted(chosen, key=lambda case: (case.term.lower(), case.heard))


def read_cases(path: Path) -> list[Case]:
    """The cases of a file, without their set, which is drawn anew whenever they are written."""
    rows = tomllib.loads(path.read_text("utf-8"))["case"] if path.exists() else []
    return [Case(row["heard"], row["term"], row["phrase"], row.get("voice", "")) for row in rows]


def is_tuned(case: Case) -> bool:
    """Whether the draw puts the case into "tune"."""
    return int(draw(case), 16) % 2 == 1


def is_tuned_term(case: Case) -> bool:
    """The same for all cases of one term."""
    return int(hashlib.sha256(f"{SEED}|{case.term}".encode()).hexdigest(), 16) % 2 == 1


def write_cases(path: Path, head: str, cases: Iterable[Case], tuned: Callable[[Case], bool] = is_tuned) -> None:
    """Write the cases with their set, which `tuned` decides, under the head."""
    blocks = []
    for case in cases:
        fields = {"heard": case.heard, "term": case.term, "phrase": case.phrase, "voice": case.voice}
        fields["set"] = "tune" if tuned(case) else "test"
        lines = [f'{name} = "{value}"' for name, value in fields.items() if value]
        blocks.append("\n[[case]]\n" + "\n".join(lines) + "\n")
    path.write_text(head + "".join(blocks), "utf-8")


def split(path: Path) -> None:
    """Assign the set of each case of a file, keeping the comments at its head."""
    head = list(itertools.takewhile(lambda line: line.startswith("#"), path.read_text("utf-8").splitlines()))
    write_cases(path, "\n".join(head) + "\n", read_cases(path))


def keep_in_notes(utterances: Iterable[Utterance], heard: dict[str, list[str]]) -> None:
    """Write the cases in sentences of operation notes; only the voices that the recognizer understands are used."""
    spoken = [utterance for utterance in utterances if utterance.voice.startswith("flite")]
    terms = sorted({utterance.term for utterance in spoken})
    cases = (in_sentence(case, u.carrier) for u in spoken for case in hear_cases([u], heard))
    kept = [case for case in keep_cases(cases, ()) if is_nearest(case, terms)]
    write_cases(CASES / "in_notes.toml", HEAD_IN_NOTES, kept, is_tuned_term)


def main(arguments: list[str]) -> None:
    """Run one of the four parts named at the head of this file."""
    parser = argparse.ArgumentParser(description="Collect misheard trade terms by speech synthesis and recognition.")
    parser.add_argument("part", choices=["speak", "recognize", "keep", "split"])
    parser.add_argument(
        "--in-notes", action="store_true", help="speak sentences of operation notes; writes in_notes.toml"
    )
    parser.add_argument("folder", type=Path, nargs="?", help="for the recordings; not needed to split")
    wanted = parser.parse_args(arguments)
    sentences = "note_carriers" if wanted.in_notes else "carriers"
    utterances = list(list_utterances(CASES / "spoken" / "terms.toml", sentences))
    by_hand, by_synthesizer = CASES / "by_hand.toml", CASES / "by_synthesizer.toml"
    if wanted.part == "split":
        split(by_hand)
        split(by_synthesizer)
    elif wanted.folder is None:
        parser.error(f"{wanted.part} needs the folder of the recordings, got none")
    elif wanted.part == "speak":
        wanted.folder.mkdir(parents=True, exist_ok=True)
        for utterance in utterances:
            speak(utterance, wanted.folder)
    elif wanted.part == "recognize":
        recognize(utterances, wanted.folder)
    elif wanted.in_notes:
        keep_in_notes(utterances, read_heard(wanted.folder / "heard.txt"))
    else:
        heard = read_heard(wanted.folder / "heard.txt")
        write_cases(by_synthesizer, HEAD, keep_cases(hear_cases(utterances, heard), read_cases(by_hand)))


if __name__ == "__main__":
    main(sys.argv[1:])
