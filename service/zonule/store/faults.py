"""What the store refuses, each with one sentence that holds no patient's words."""

from typing import TYPE_CHECKING

from zonule.errors import StoreError

if TYPE_CHECKING:
    from zonule.store.kept import Note, NoteVersion


class NotFoundError(StoreError):
    """A note, version, case, user or proposal that the store does not hold."""


class ConflictError(StoreError):
    """Somebody saved in between. `current` is the note as it stands, `set_aside` the words that came too late, kept."""

    def __init__(self, current: "Note", set_aside: "NoteVersion") -> None:
        super().__init__(
            f"Note {current.id}: expected a change of version {current.number}, got one of version "
            f"{set_aside.base_version}; it was kept aside as version {set_aside.number}. Bring the two together and "
            "save again."
        )
        self.current = current
        self.set_aside = set_aside


class SignedError(StoreError):
    """The note is signed and never changes. Words that came too late are kept: `set_aside`."""

    def __init__(self, current: "Note", set_aside: "NoteVersion | None" = None) -> None:
        kept = f" What came was kept aside as version {set_aside.number}." if set_aside else ""
        super().__init__(f"Note {current.id} is signed and stays as it is: expected an addendum.{kept}")
        self.current = current
        self.set_aside = set_aside


class NotSignableError(StoreError):
    """The version cannot be signed: not the newest, something that must be stated is open, or no operation note."""


class NotSignedError(StoreError):
    """An addendum to a note that is not signed; until then the note itself is changed."""


class TakenError(StoreError):
    """A user name, a case or a subject of a provider that somebody has already."""


class RefusedError(StoreError):
    """A value that the store does not take: a role, a user name, a password, text with characters nobody can keep."""


class KeyReusedError(StoreError):
    """An idempotency key that came before with another request."""


class ClashError(StoreError):
    """Two wrote the same at once, and this one came second; asked again, it finds what the other wrote."""


class UnavailableError(StoreError):
    """The database cannot be reached, is full, damaged, or busy for too long; nothing was written."""


class DamagedError(StoreError):
    """An export or backup that is not whole, or a store that is not as it was written."""
