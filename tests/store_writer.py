"""Saves notes one after the other and says so after each: `python store_writer.py URL FIRST COUNT`."""

import sys

from store_samples import QUICK, draft, lens, operation

from zonule.store import open_store


def main(url: str, first: int, count: int) -> None:
    """Ten saves a note; a line for each, when the store has acknowledged it."""
    with open_store(url, hasher=QUICK) as store:
        note = None
        for number in range(first, first + count):
            words = draft(operation(lens(serial=f"HM{number}")), words=f"Words of save {number}.")
            if note is None or number % 10 == 0:
                note = store.notes.create(words, "imogen")
            else:
                note = store.notes.save(note.id, note.number, words, "imogen")
            print(note.id, note.number, number, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
