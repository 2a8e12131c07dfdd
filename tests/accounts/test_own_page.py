"""One's own page: name, initials, clock and password."""

import pytest
from django.test import Client

from tests import make

pytestmark = pytest.mark.django_db
ME = "/people/me/"


def test_a_person_keeps_name_initials_and_clock(client: Client) -> None:
    person = make.person(name="Agnes Ori")
    client.force_login(person)
    sent = {
        "about": "1",
        "name": "Ágnes Őri-Ñáñez",
        "initials": "áőñ",
        "time_zone": "Europe/Budapest",
    }
    assert client.post(ME, sent).status_code == 302
    person.refresh_from_db()
    assert (person.name, person.initials) == ("Ágnes Őri-Ñáñez", "ÁŐÑ")
    assert person.time_zone == "Europe/Budapest"
    assert 'value="ÁŐÑ"' in client.get(ME).content.decode()


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"time_zone": "Pell/Sallow"}, "knows no clock"),
        ({"time_zone": "../../etc/passwd"}, "knows no clock"),
        ({"initials": "A1"}, "letters only"),
        ({"name": ""}, "required"),
    ],
)
def test_what_does_not_fit_is_named_and_stays_typed(
    client: Client, wrong: dict[str, str], told: str
) -> None:
    person = make.person(name="Agnes Ori")
    client.force_login(person)
    sent = {"about": "1", "name": "New Name", "initials": "NN", "time_zone": ""}
    answer = client.post(ME, sent | wrong)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert told in page
    assert 'aria-invalid="true"' in page
    person.refresh_from_db()
    assert person.name == "Agnes Ori"


def test_a_password_is_set_changed_and_ends_other_sessions(client: Client) -> None:
    person = make.person()
    other = Client()
    client.force_login(person)
    other.force_login(person)
    first = {"secret": "1", "new-password": "tide and letters"}
    assert client.post(ME, first).status_code == 302
    assert client.get(ME).status_code == 200
    assert other.get(ME).status_code == 302
    again = {"secret": "1", "new-password": "sand and sticks!"}
    assert client.post(ME, again).status_code == 422
    wrong = again | {"new-old_password": "no"}
    assert client.post(ME, wrong).status_code == 422
    right = again | {"new-old_password": "tide and letters"}
    assert client.post(ME, right).status_code == 302
    person.refresh_from_db()
    assert person.check_password("sand and sticks!")


def test_a_short_or_common_password_is_refused(client: Client) -> None:
    client.force_login(make.person())
    for password in ("blue", "password123"):
        sent = {"secret": "1", "new-password": password}
        answer = client.post(ME, sent)
        assert answer.status_code == 422
        assert password not in answer.content.decode()


def test_times_are_shown_by_the_clock_of_who_looks(client: Client) -> None:
    person = make.person()
    person.time_zone = "nowhere/at all"
    person.save()
    client.force_login(person)
    assert client.get(ME).status_code == 200
