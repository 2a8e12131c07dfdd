"""What stands on every print of the record."""

CAUTION = (
    "An OK in this record says who agreed to what on this board. It does not replace "
    "a contract, a contract proof or a signature that the law asks for."
)
PRACTICE = (
    "No open standard for a sign-off record exists that the board could keep to; its "
    "rules are common practice put in order, no source."
)
CODES = (
    "A picture is named by the first eight signs of its file's SHA-256 checksum, the "
    "same on every screen and print; text is the number of the text version."
)
