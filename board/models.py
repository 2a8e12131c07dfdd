"""Gathers the tables from their nouns; code imports a table from its noun."""

from board.books.models import *  # noqa: F403
from board.checks.models import *  # noqa: F403
from board.clippings.models import *  # noqa: F403
from board.continuity.models import *  # noqa: F403
from board.daybook.models import *  # noqa: F403
from board.light_table.models import *  # noqa: F403
from board.post.models import *  # noqa: F403
from board.readings.models import *  # noqa: F403
from board.repro.models import *  # noqa: F403
from board.revisions.models import *  # noqa: F403
from board.sittings.models import *  # noqa: F403
from board.slips.models import *  # noqa: F403
from board.tissue.models import *  # noqa: F403
from board.viewing.models import *  # noqa: F403
