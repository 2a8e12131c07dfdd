"""Signed addresses: a short proof that an address was given out by this board."""

import hmac
from base64 import urlsafe_b64encode
from hashlib import sha256


def sign(key: str, expires: int, scope: str, secret: bytes) -> str:
    """Give the signature that lets one scope open one key until a moment.

    Parameters
    ----------
    key : what is opened; any text.
    expires : seconds since 1970 UTC.
    scope : for whom; an opaque text.
    secret : at least 32 random bytes.

    Returns
    -------
    24 characters safe in an address (144 bits of the HMAC).

    References
    ----------
    RFC 2104, HMAC; RFC 4648 section 5, the URL-safe alphabet.
    """
    # The lengths come first, so no two different triples give the same bytes.
    said = f"{len(key)}.{len(scope)}.{expires}.{key}.{scope}".encode()
    return urlsafe_b64encode(hmac.digest(secret, said, sha256)[:18]).decode()


def verify(
    *, key: str, expires: int, scope: str, secret: bytes, signature: str, now: float
) -> bool:
    """Tell whether a signature is ours and its moment has not passed.

    The comparison takes the same time wherever the two differ.
    """
    mine = sign(key, expires, scope, secret)
    same = hmac.compare_digest(mine.encode(), signature.encode())
    return same and now < expires


def rounded_expiry(now: float, life_s: int) -> int:
    """Give an expiry between half a life and one life ahead, steady for half a life.

    With a life of 600 s an address stays the same text for 300 s, so that a browser
    can keep what it fetched, and is never good for more than 600 s.
    """
    step = max(1, life_s // 2)
    return int(now) // step * step + life_s
