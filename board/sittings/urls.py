"""Addresses of sittings, and their live line."""

from django.urls import path

from board.sittings.consumers.line import SittingLine
from board.sittings.views import holding, minutes, planning

app_name = "sittings"
urlpatterns = [
    path("books/<str:key>/", planning.listed, name="list"),
    path("books/<str:key>/plan/", planning.plan, name="plan"),
    path("<str:key>/", holding.sitting, name="sitting"),
    path("<str:key>/plan/", planning.change, name="change"),
    path("<str:key>/calendar.ics", planning.calendar, name="calendar"),
    path("<str:key>/call-off/", planning.off, name="call-off"),
    path("<str:key>/open/", holding.begin, name="open"),
    path("<str:key>/close/", holding.close, name="close"),
    path("<str:key>/turn/", holding.turn, name="turn"),
    path("<str:key>/look/", holding.look, name="look"),
    path("<str:key>/chair/", holding.chair, name="chair"),
    path("<str:key>/decide/", holding.decision, name="decide"),
    path("<str:key>/reading/", holding.reading, name="reading"),
    path("<str:key>/poll/", holding.poll, name="poll"),
    path("<str:key>/parts/", holding.parts, name="parts"),
    path("<str:key>/pictures.json", holding.pictures, name="pictures"),
    path("<str:key>/minutes.pdf", minutes.pdf, name="minutes-pdf"),
    path("<str:key>/minutes.md", minutes.markdown, name="minutes-markdown"),
]

sockets = [path("live/<str:key>/sittings/<str:sitting>/", SittingLine.as_asgi())]
