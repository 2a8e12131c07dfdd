"""Words for mails."""

from django import template

register = template.Library()
FIRST_STRONG, POP = "\u2068", "\u2069"  # Unicode bidirectional isolates (UAX 9)


@register.filter
def isolated(words: str) -> str:
    """Keep a name of any direction from turning the line it stands in."""
    return f"{FIRST_STRONG}{words}{POP}" if _turns(words) else words


def _turns(words: str) -> bool:
    return any("\u0590" <= sign <= "\u08ff" or sign >= "\ufb1d" for sign in words)
