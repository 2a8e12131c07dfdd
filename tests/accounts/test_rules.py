"""Initials, keys and tokens."""

import pytest

from accounts.rules import initials_of, new_key, new_token, token_hash


@pytest.mark.parametrize(
    ("name", "initials"),
    [
        ("Tamsin Okoro-Vale", "TOV"),
        ("Ágnes Őri-Ñáñez", "ÁŐÑ"),
        ("A\u0301gnes", "Á"),
        ("Dov", "D"),
        ("  ", "?"),
        ("one two three four", "OTT"),
        ("نور الهدى", "نا"),
    ],
)
def test_initials_come_from_the_parts_of_a_name(name: str, initials: str) -> None:
    assert initials_of(name) == initials


def test_keys_and_tokens_are_never_the_same_twice() -> None:
    assert len({new_key() for _ in range(500)}) == 500
    assert len(new_key()) == 16
    assert len({token_hash(new_token()) for _ in range(100)}) == 100
