"""The store opened: all its parts on one database, in the newest form of its tables."""

from types import TracebackType

from argon2 import PasswordHasher

from zonule.store.corrections import Corrections
from zonule.store.database import Clock, Database, now
from zonule.store.finding import Finding
from zonule.store.lists import Lists
from zonule.store.migrating import migrate
from zonule.store.notes import Notes
from zonule.store.once import Once
from zonule.store.trail import Trail
from zonule.store.transfer import Transfer
from zonule.store.users import Users
from zonule.store.web_sessions import Attempts, Sessions


class Store:
    """Everything that is kept. May be shared by threads; several processes may open the same one."""

    def __init__(self, database: Database, hasher: PasswordHasher) -> None:
        self.database = database
        self.users = Users(database, hasher)
        self.sessions = Sessions(database)
        self.attempts = Attempts(database)
        self.cases = Lists(database)
        self.notes = Notes(database)
        self.find = Finding(database)
        self.trail = Trail(database)
        self.corrections = Corrections(database)
        self.once = Once(database)
        self.transfer = Transfer(database)

    def close(self) -> None:
        """Lets go of the database."""
        self.database.close()

    def __enter__(self) -> "Store":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def open_store(url: str, *, clock: Clock = now, hasher: PasswordHasher | None = None) -> Store:
    """Opens the store at `url`, made or brought to the newest form if need be.

    `sqlite:///zonule.db` is a file, `postgresql+psycopg://user@host/database` a server's database. Raises StoreError
    for a URL that is neither, a store that cannot be reached, or one made by a newer Zonule.
    """
    database = Database(url, clock)
    try:
        migrate(database)
    except BaseException:
        database.close()
        raise
    return Store(database, hasher or PasswordHasher())
