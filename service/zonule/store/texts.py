"""Which text the store can keep: what both databases and an export give back as it was."""

from zonule.store.faults import RefusedError


def check_text(name: str, text: str, longest: int = 1_000_000) -> None:
    """Raises RefusedError for text that is too long or holds characters that no database keeps; never shows it."""
    if len(text) > longest:
        raise RefusedError(f"The {name}: expected at most {longest:,} characters, got {len(text):,}; shorten it.")
    if "\x00" in text:
        raise RefusedError(f"The {name}: expected text, got a null character; send it as plain UTF-8.")
    try:
        text.encode()
    except UnicodeEncodeError:
        raise RefusedError(f"The {name}: expected text, got half a character; send it as plain UTF-8.") from None
