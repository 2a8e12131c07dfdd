"""From plan to minutes: what is frozen, who rules, what the minutes say."""

import pytest
from django.urls import reverse

from tests.sittings.conftest import Sat

pytestmark = pytest.mark.django_db


def test_a_thin_round_from_plan_to_minutes(sat: Sat, client) -> None:
    page = reverse("sittings:sitting", args=[sat.sitting.key])
    client.force_login(sat.cast.art_director)
    assert "To talk about" in client.get(page).content.decode()
    sat.open()
    opened = client.get(page).content.decode()
    assert "You have the chair" not in opened  # a script says so
    assert "Decision on 8-9" in opened
    sat.decide("OK as corrected", remark="Lift the hull.")
    sat.note(sat.cast.designer, "Clear the type.")
    sat.turn(sat.second)
    sat.close()
    minutes = client.get(page).content.decode()
    assert "OK as corrected" in minutes
    assert "Lift the hull." in minutes
    assert "Clear the type." in minutes
