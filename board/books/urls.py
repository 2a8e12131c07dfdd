"""Addresses of books and what belongs to them."""

from django.urls import path

from board.books import views
from board.books.views import deputies, typefaces

app_name = "books"
urlpatterns = [
    path("new/", views.new, name="new"),
    path("invited/<str:token>/", views.invitation, name="invitation"),
    path("invitations/<str:key>/withdraw/", views.withdraw, name="withdraw"),
    path("credits/<str:key>/end/", views.end_credit, name="end-credit"),
    path("items/<str:key>/boxes/", views.boxes, name="boxes"),
    path("boxes/<str:key>/", views.box, name="box"),
    path("<str:key>/", views.book, name="book"),
    path("deputies/<str:key>/end/", deputies.end, name="end-deputy"),
    path("<str:key>/deputies/", deputies.deputies, name="deputies"),
    path("<str:key>/type/", typefaces.typeface, name="type"),
    path("<str:key>/people/", views.people, name="people"),
    path("<str:key>/manuscript/", views.manuscript, name="manuscript"),
]
