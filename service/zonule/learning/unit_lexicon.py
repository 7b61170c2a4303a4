"""The unit's own lexicon folder: a file of what was learned, and a page that says who accepted what and when."""

import datetime
import fcntl
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from zonule.errors import InputError, OutputError, StoreError
from zonule.learning.entries import ProposedEntry, entry_of
from zonule.lexicon import load_lexicon
from zonule.output import write_whole
from zonule.settings import clinic_folder, lexicon_folder
from zonule.store import Proposal, Store
from zonule.store.faults import RefusedError

LEARNED, CHANGES = "learned.toml", "changes.md"
HEAD = "# What this unit learned from its corrections. Entries are added by the review page; edit them as you like.\n"
CHANGES_HEAD = "# Changes of this unit's lexicon\n\n"
LOCK = ".learning.lock"


def accept(store: Store, proposal_id: str, by: str) -> Path:
    """Puts the entry of a proposal into the unit's lexicon; gives the file.

    The file is put in place whole, and only when the lexicon loads with it. The change stands in the audit trail and in
    the folder's page of changes. A reader built earlier does not know it. Raises InputError without a folder,
    RefusedError for a proposal that was decided or teaches nothing, LexiconError when the lexicon would not load.
    """
    folder = _folder()
    with _locked(folder):
        proposal = _open_proposal(store, proposal_id)
        lexicon = load_lexicon(lexicon_folder(), folder)
        entry = entry_of(proposal, lexicon)
        if not entry.teaches:
            raise RefusedError(f"Proposal {proposal_id[:8]}: nothing to learn from it ({entry.reason}); refuse it.")
        file = folder / LEARNED
        before = file.read_bytes() if file.is_file() else None
        after = _with_entry(before, entry)
        _check_loads(folder, after)
        _put_in_place(store, proposal, by, file, before, after)
        _log(folder, proposal, entry, by, store.database.clock())
    return file


def refuse(store: Store, proposal_id: str, by: str) -> Proposal:
    """Nothing is learned from the proposal; who decided that stands in the trail."""
    return store.corrections.decide(proposal_id, False, by)


def _folder() -> Path:
    folder = clinic_folder()
    if folder is None:
        raise InputError("Learning: expected the unit's own lexicon folder in ZONULE_LEXICON, got none; set it.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise OutputError(f"{folder}: cannot be made ({fault.strerror}); expected a folder to write to.") from fault
    return folder


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """One at a time, in this process and in others."""
    try:
        file = (folder / LOCK).open("w")
    except OSError as fault:
        raise OutputError(f"{folder}: cannot be written ({fault.strerror}); expected a folder to write to.") from fault
    with file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _open_proposal(store: Store, proposal_id: str) -> Proposal:
    proposal = store.corrections.get(proposal_id)
    if proposal.accepted is not None:
        raise RefusedError(f"Proposal {proposal_id[:8]}: expected an open one, got one that was decided already.")
    return proposal


def _with_entry(before: bytes | None, entry: ProposedEntry) -> bytes:
    held = before.decode("utf-8") if before is not None else HEAD
    return f"{held.rstrip()}\n\n{entry.toml}".encode()


def _check_loads(folder: Path, learned: bytes) -> None:
    """Loads the lexicon with a copy of the folder that has the new file."""
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / folder.name
        shutil.copytree(folder, copy, ignore=shutil.ignore_patterns(LOCK))
        (copy / LEARNED).write_bytes(learned)
        load_lexicon(lexicon_folder(), copy)


def _put_in_place(store: Store, proposal: Proposal, by: str, file: Path, before: bytes | None, after: bytes) -> None:
    """The file and the decision together; when the decision fails, the file goes back to what it was."""
    write_whole(file, after)
    try:
        store.corrections.decide(proposal.id, True, by)
    except StoreError:
        if before is None:
            file.unlink()
        else:
            write_whole(file, before)
        raise
    detail = {"proposal": proposal.id, "sha256": sha256(after).hexdigest()}
    store.trail.append(by, "lexicon.change", LEARNED, detail)


def _log(folder: Path, proposal: Proposal, entry: ProposedEntry, by: str, at: datetime.datetime) -> None:
    page = folder / CHANGES
    held = page.read_text("utf-8") if page.is_file() else CHANGES_HEAD
    table = entry.toml.splitlines()[0]
    line = f"* {at:%Y-%m-%d %H:%M} UTC, {by}: `{table}` in `{LEARNED}`, “{proposal.heard}” → “{proposal.reading}”\n"
    write_whole(page, f"{held}{line}".encode())
