"""The measurements can be called by their short names."""

from board.management.commands.bench import Command


def test_every_measurement_has_a_short_name() -> None:
    names = Command.names()
    assert {"imaging", "checks", "tiles", "ingest", "pages"} <= set(names)
    assert names["imaging"] == "imaging_bench"
