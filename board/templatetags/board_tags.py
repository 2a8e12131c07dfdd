"""Marks every page shares: the import map, standings, initials."""

import json
import secrets
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from django import template
from django.conf import settings
from django.contrib.staticfiles.storage import staticfiles_storage
from django.forms import BoundField, CheckboxInput
from django.template.context import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from board.books.models import ItemStage
from board.books.queries import Pencil
from board.books.rules import Standing

register = template.Library()

SHAPES = {
    Standing.SHUT: "folded",
    Standing.AT_THE_TABLE: "lying",
    Standing.HUNG: "tacked",
    Standing.RETURNED: "curled",
    Standing.OK_AS_CORRECTED: "half-box",
    Standing.OK: "full-box",
    Standing.HANDED_OVER: "parcel",
}


@register.simple_tag(takes_context=True)
def import_map(context: Context) -> SafeString:
    """The page's import map: `#lib/sheet.js` is `static/js/lib/sheet.js`.

    The same names reach the same files in Node and `tsc` through `imports` in
    package.json, so a module is written once and tested without a browser.
    """
    return format_html(
        '<script type="importmap" nonce="{}">{}</script>',
        context.get("csp_nonce", ""),
        import_map_text(),
    )


def import_map_text() -> SafeString:
    """The map itself, as JSON."""
    return _cached_map() if not settings.DEBUG else _map()


def _map() -> SafeString:
    folder = Path(settings.BASE_DIR) / "static" / "js"
    names = sorted(path.relative_to(folder) for path in folder.rglob("*.js"))
    imports = {
        f"#{name.as_posix()}": staticfiles_storage.url(f"js/{name.as_posix()}")
        for name in names
    }
    told = json.dumps({"imports": imports}, separators=(",", ":"))
    return mark_safe(told.replace("<", "\\u003c"))  # noqa: S308 - our own file names


@cache
def _cached_map() -> SafeString:
    return _map()


@register.inclusion_tag("board/_standing.html")
def standing(
    stage: ItemStage | str, *, held: bool = False, large: bool = False
) -> dict[str, object]:
    """A standing as its paper shape and its word; a waived stage says so."""
    waived = isinstance(stage, ItemStage) and bool(stage.waived)
    word = stage.standing if isinstance(stage, ItemStage) else stage
    return {
        "word": "waived" if waived else word,
        "shape": "waived" if waived else SHAPES[Standing(word)],
        "held": held,
        "large": large,
    }


@register.simple_tag
def initials(pencil: Pencil | None, fallback: str = "?") -> SafeString:
    """A person's initials in their own pencil: hue, line pattern and letters."""
    if pencil is None:
        return format_html('<span class="initials pencil-0">{}</span>', fallback)
    return format_html(
        '<abbr class="initials pencil-{} initials-{}" title="{}">{}</abbr>',
        pencil.hue,
        pencil.line,
        pencil.name,
        pencil.initials,
    )


@register.inclusion_tag("board/_field.html")
def field(bound: BoundField, *, rows: int = 0, unit: str = "") -> dict[str, object]:
    """A form's field with label, hint and what is wrong, tied together."""
    widget = bound.field.widget
    attrs: dict[str, str | bool] = {
        "class": "tick-box" if isinstance(widget, CheckboxInput) else "input"
    }
    if rows:
        attrs["rows"] = str(rows)
    hints = [f"{bound.id_for_label}-hint"] if bound.help_text else []
    hints += [f"{bound.id_for_label}-wrong"] if bound.errors else []
    if hints:
        attrs["aria-describedby"] = " ".join(hints)
    if bound.errors:
        attrs["aria-invalid"] = "true"
    return {
        "field": bound,
        "control": bound.as_widget(attrs=attrs),
        "is_tick": isinstance(widget, CheckboxInput),
        "unit": unit,
    }


@register.inclusion_tag("board/_choices.html")
def choices(bound: BoundField) -> dict[str, object]:
    """A group of radio buttons or ticks under one question."""
    return {"field": bound}


@register.simple_tag
def event() -> SafeString:
    """A hidden id of what this form will do, so that sending twice does it once."""
    return format_html(
        '<input type="hidden" name="event" value="{}">', secrets.token_urlsafe(18)
    )


@register.filter
def percent(fraction: float) -> str:
    """A fraction of the sheet as an SVG or CSS length."""
    return f"{fraction * 100:.4f}%"


@register.filter
def millimetres(length: float) -> str:
    """A length to the tenth of a millimetre, and in inches to the sixteenth or so."""
    return f"{round(length, 1):g} mm ({length / 25.4:.3g} in)"


@register.filter
def item(mapping: Mapping[str, object], key: str) -> object:
    """What a mapping holds for a key that is only known to the template."""
    return mapping.get(key)
