"""Marks of the viewing room: fresh act ids."""

from django import template

from board.viewing.rules import new_event

register = template.Library()


@register.simple_tag(name="new_event")
def new_event_tag() -> str:
    """A fresh id for the act a form asks for."""
    return new_event()
