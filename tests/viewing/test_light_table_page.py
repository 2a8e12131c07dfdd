from html import unescape

from board.light_table.models import Comparison
from board.repro.models import LeasedWork
from tests import make
from tests.viewing.conftest import Hung, looks

CHANGES = [
    {
        "x": 0.2,
        "y": 0.1,
        "width": 0.1,
        "height": 0.2,
        "area": 0.02,
        "mean": 12.34,
        "peak": 30.0,
    }
]


def test_one_revision_alone_is_not_laid_over_anything(hung: Hung) -> None:
    page = unescape(
        looks(hung.cast.editor).get(hung.room("light-table")).content.decode()
    )
    assert "Two laid revisions are needed" in page


def test_the_newest_two_lie_on_the_table_and_any_pair_can_be_asked_for(
    hung: Hung,
) -> None:
    second = hung.next_up()
    third = hung.next_up()
    client = looks(hung.cast.author)
    page = unescape(client.get(hung.room("light-table")).content.decode())
    assert f'value="{second.key}" selected' in page
    assert f'value="{third.key}" selected' in page
    asked = f"?before={hung.revision.key}&after={third.key}&view=slide"
    page = unescape(client.get(hung.room("light-table") + asked).content.decode())
    assert f'value="{hung.revision.key}" selected' in page
    assert 'data-view="slide"' in page


def test_a_revision_in_the_folder_lies_only_on_the_artists_table(hung: Hung) -> None:
    hidden = make.revision(of=hung.item, by=hung.cast.illustrator)
    for who, there in ((hung.cast.illustrator, True), (hung.cast.editor, False)):
        page = looks(who).get(hung.room("light-table")).content.decode()
        assert (hidden.key in page) is there


def test_comparing_is_asked_for_by_a_press_and_listed_by_size(hung: Hung) -> None:
    second = hung.next_up()
    client = looks(hung.cast.editor)
    pair = f"?before={hung.revision.key}&after={second.key}"
    client.post(hung.room("comparison") + pair)
    row = Comparison.objects.get(before=hung.revision, after=second)
    page = unescape(
        client.get(
            hung.room("comparison") + pair, headers={"Board-Part": "yes"}
        ).content.decode()
    )
    assert "data-again" in page
    Comparison.objects.filter(pk=row.pk).update(
        work=LeasedWork.State.DONE, changes=CHANGES, noise=0.4
    )
    page = unescape(
        client.get(
            hung.room("comparison") + pair, headers={"Board-Part": "yes"}
        ).content.decode()
    )
    assert "data-again" not in page
    assert "51 x 51 mm" in page
    assert "mean 12.3, peak 30.0 dE00" in page
    assert 'data-x="0.200000"' in page


def test_the_page_warns_of_flicker_and_of_colour_on_screens(hung: Hung) -> None:
    hung.next_up()
    page = unescape(
        looks(hung.cast.editor).get(hung.room("light-table")).content.decode()
    )
    assert "flicker" in page
    assert "estimate" in page
