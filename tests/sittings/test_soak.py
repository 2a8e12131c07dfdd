"""Cut lines and killed servers lose nothing, on both layers; `soak --sitting` is longer."""

import os
import subprocess
import sys

import pytest

REDIS = os.environ.get("BOARD_TEST_REDIS_URL", "")


@pytest.mark.services
@pytest.mark.parametrize("layer", ["memory", "redis"])
def test_everybody_ends_with_exactly_what_they_may_see(layer: str) -> None:
    if layer == "redis" and not REDIS:
        pytest.skip("BOARD_TEST_REDIS_URL names no Redis")
    url = REDIS if layer == "redis" else ""
    done = subprocess.run(
        [sys.executable, "-m", "tests.sittings.soak", "30", "7", url],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]
    assert "2 kills" in done.stdout
