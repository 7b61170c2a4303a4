"""Writes documents whole or not at all: to a temporary file beside the target, then renamed."""

import os
import tempfile
from pathlib import Path

from zonule.errors import OutputError


def write_whole(path: Path, data: bytes) -> None:
    """Writes `data` to `path`; raises OutputError and leaves nothing half-written when that fails."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise OutputError(
            f"{path}: cannot be written ({reason}); expected a place to write to. Choose another."
        ) from fault
