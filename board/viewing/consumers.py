"""The live line of a book: says that something was entered, never what."""

import json

from board.slips.consumers.hub import Hub
from board.slips.consumers.line import BookLine
from board.slips.queries.news import News
from board.slips.queries.record import Known


class Live(BookLine):
    """One open page of one reader, who is told which item changed."""

    async def begin(self) -> None:
        """Listen from here on."""
        self.entry = Hub.here().known[self.book.key]
        self.say('{"type":"listening"}')

    def hear(self, news: News) -> None:
        """Say that the item changed, if this reader may know it."""
        if self.entry is None:
            return
        known = Known.by(self.person, news.book, self.roles, news.about)
        for entry in news.entries:
            if entry.number > self.entry and known.may(entry):
                told = {"type": "entered", "item": entry.item_key, "kind": entry.kind}
                self.say(json.dumps(told))
        self.entry = news.head
