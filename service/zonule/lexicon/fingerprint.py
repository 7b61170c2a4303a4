"""Which lexicon this is: one hash over all files of its folders."""

import hashlib
from collections.abc import Iterable
from pathlib import Path


def lexicon_fingerprint(folders: Iterable[Path]) -> str:
    """SHA-256 over names and contents of the TOML files of the folders, in their order; the same on every machine."""
    digest = hashlib.sha256()
    for number, folder in enumerate(folders):
        for path in sorted(folder.rglob("*.toml"), key=lambda p: p.relative_to(folder).as_posix()):
            content = path.read_bytes()
            digest.update(f"{number} {path.relative_to(folder).as_posix()} {len(content)}\n".encode())
            digest.update(content)
    return digest.hexdigest()
