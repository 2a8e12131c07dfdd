"""The three sittings of the demo book: who was there, and what each one decided."""

from datetime import timedelta
from zoneinfo import ZoneInfo

from board.daybook.actions import replayed_at, this_moment
from board.management.demo.story import Facts, Story
from board.sittings.actions import Plan, holding, plan_sitting
from board.sittings.actions.seats import take_seat
from board.sittings.models import Sitting

ZONE, TEN = "Europe/London", 10
EACH = timedelta(minutes=4)


def plan(story: Story, event: Facts) -> None:
    """Plan a sitting for ten in the morning some days ahead, or for this very hour."""
    day = this_moment().astimezone(ZoneInfo(ZONE)) + timedelta(event.get("in_days", 0))
    hour = TEN if event.get("in_days") else day.hour
    made = Plan(
        starts_at=day.replace(hour=hour, minute=0, second=0, microsecond=0),
        time_zone=ZONE,
        minutes=event["minutes"],
        items=story.items_of(event),
        chair=story.people[event["chair"]],
        remark=event.get("remark", ""),
    )
    plan_sitting(
        by=story.people[event["by"]],
        book=story.the_book(),
        plan=made,
        event=story.event(),
    )


def hold(story: Story, event: Facts) -> None:
    """Open the sitting that was planned, and let everybody sit down."""
    planned = _numbered(story, event)
    chair = story.people[event["chair"]]
    sitting = holding.open_sitting(by=chair, sitting=planned, event=story.event())
    for who in event["present"]:
        take_seat(by=story.people[who], sitting=sitting)


def close(story: Story, event: Facts) -> None:
    """Turn to one item after another, write what was decided, and close."""
    sitting, now = _numbered(story, event), this_moment()
    chair = story.people[event["chair"]]
    for label, word, ruled_by, remark in event["decisions"]:
        item = story.items[label]
        with replayed_at(now):
            holding.turn_to(by=chair, sitting=sitting, item_key=item.key)
        now += EACH
        with replayed_at(now):
            holding.decide(
                by=chair,
                sitting=sitting,
                line={"item": item.key, "word": word, "remark": remark},
                ruled_by=story.people[ruled_by],
                event=story.event(),
            )
    with replayed_at(now):
        holding.close_sitting(by=chair, sitting=sitting, event=story.event())


def _numbered(story: Story, event: Facts) -> Sitting:
    return Sitting.objects.get(book=story.the_book(), number=event["number"])
