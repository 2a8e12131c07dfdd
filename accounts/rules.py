"""Plain questions about people: keys, initials and pencils."""

import secrets
import unicodedata

ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"
PENCIL_LINES = ("plain", "dashed", "dotted", "dash-dot", "double")
PENCIL_HUES = 8


def new_key() -> str:
    """Make an unguessable name for an address: 16 letters, about 79 bits."""
    return "".join(secrets.choice(ALPHABET) for _ in range(16))


def initials_of(name: str) -> str:
    """First letter of each part of a name, three at the most: Tamsin Okoro-Vale, TOV."""
    parts = unicodedata.normalize("NFC", name).replace("-", " ").split()
    return "".join(part[0].upper() for part in parts)[:3] or "?"
