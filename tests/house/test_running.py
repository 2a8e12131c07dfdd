"""The commands: what they start with, and the lists they rest on."""

import ast
import json
import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from board.management.running import environment, front_end, processes, steps
from board.management.running.services import free_port

CHECKOUT = environment.CHECKOUT
PIN = re.compile(r"^([A-Za-z0-9._-]+)(?:\[[^\]]*\])?==([^\s;\\]+)", re.M)
OLD_MAIN = (
    "import runpy, sys; sys.version_info = (3, 8, 0); sys.argv = ['manage.py', 'demo'];"
    "runpy.run_path('manage.py', run_name='__main__')"
)

BOARD_SETTINGS = (
    "ADDRESS",
    "DATABASE_URL",
    "DEMO",
    "FOLDER",
    "HOSTS",
    "INSECURE_LOCAL",
    "MAIL_URL",
    "ORIGINS",
    "SECRET",
)


@pytest.fixture
def no_board_settings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in BOARD_SETTINGS:
        monkeypatch.setenv(f"BOARD_{name}", "")  # so that it is put back afterwards
        monkeypatch.delenv(f"BOARD_{name}")
    monkeypatch.setattr(environment, "CHECKOUT", tmp_path)


def set_now() -> dict[str, str]:
    return dict(os.environ)


def test_manage_can_be_read_by_python_3_8() -> None:
    ast.parse((CHECKOUT / "manage.py").read_text(), feature_version=(3, 8))


def test_an_old_python_without_a_newer_one_gets_a_plain_sentence() -> None:
    done = subprocess.run(
        [sys.executable, "-c", OLD_MAIN],
        cwd=CHECKOUT,
        env={"PATH": "/nowhere"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert "needs Python 3.11 or newer" in done.stderr
    assert "Traceback" not in done.stderr


def test_the_tests_lock_holds_the_boards_own_versions() -> None:
    own = dict(PIN.findall((CHECKOUT / "requirements.lock").read_text()))
    tests = dict(PIN.findall((CHECKOUT / "requirements-test.lock").read_text()))
    assert own.items() <= tests.items()


@pytest.mark.parametrize(
    "name",
    [
        "requirements.lock",
        "requirements-test.lock",
        ".ci/uv.lock",
        ".ci/node.lock",
        "package-lock.json",
    ],
)
def test_locks_hold_hashes_and_name_no_host(name: str) -> None:
    text = (CHECKOUT / name).read_text()
    assert "://" not in re.sub(r'"(funding|url)": .*', "", text)
    if name.endswith(".lock"):
        pinned = [part for part in re.split(r"\n(?=\S)", text) if "==" in part]
        assert all("--hash=sha256:" in part for part in pinned)


def test_every_locked_browser_package_has_its_integrity() -> None:
    packages = json.loads((CHECKOUT / "package-lock.json").read_text())["packages"]
    assert all(told.get("integrity") for name, told in packages.items() if name)


def test_the_browser_libraries_are_exactly_those_of_package_json() -> None:
    wanted = json.loads((CHECKOUT / "package.json").read_text())["dependencies"]
    copied = {source.split("/")[0] for source in front_end.LIBRARIES.values()}
    assert copied == set(wanted)


@pytest.mark.usefixtures("no_board_settings")
def test_serve_makes_a_private_folder_and_a_secret_nobody_else_reads(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "studio"
    environment.choose_environment(["serve", "--folder", str(folder)])
    kept = folder / "secret.txt"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    first = kept.read_text()
    environment.choose_environment(["serve", f"--folder={folder}"])
    assert kept.read_text() == first
    assert len(first.strip()) >= 64


@pytest.mark.usefixtures("no_board_settings")
def test_serve_opens_no_demo_door_and_keeps_cookies_safe_under_https(
    tmp_path: Path,
) -> None:
    words = ["serve", "--folder", str(tmp_path), "--address", "https://b.example/"]
    environment.choose_environment(words)
    now = set_now()
    assert "BOARD_DEMO" not in now
    assert "BOARD_DEBUG" not in now
    assert "BOARD_INSECURE_LOCAL" not in now
    assert now["BOARD_ADDRESS"] == "https://b.example"
    assert now["BOARD_ORIGINS"] == "https://b.example"
    assert "b.example" in now["BOARD_HOSTS"].split(",")


@pytest.mark.usefixtures("no_board_settings")
def test_the_demo_cannot_reach_a_real_boards_database_or_mail(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("BOARD_FOLDER", str(tmp_path / "real"))
    monkeypatch.setenv("BOARD_DATABASE_URL", "postgres://real")
    monkeypatch.setenv("BOARD_MAIL_URL", "smtp://real")
    environment.choose_environment(["demo"])
    now = set_now()
    assert now["BOARD_FOLDER"] == str(tmp_path / "var" / "demo")
    assert "BOARD_DATABASE_URL" not in now
    assert "BOARD_MAIL_URL" not in now
    assert not (tmp_path / "real").exists()


def test_a_failing_quiet_step_shows_what_it_said(
    capsys: pytest.CaptureFixture[str],
) -> None:
    words = [sys.executable, "-c", "print('the reason'); raise SystemExit(3)"]
    outcome = steps.run(steps.Step("a step", words))
    assert outcome.failed == 1
    assert outcome.failures == ["a step"]
    assert "the reason" in capsys.readouterr().out


def test_a_step_that_takes_too_long_fails() -> None:
    words = [sys.executable, "-c", "import time; time.sleep(30)"]
    outcome = steps.run(steps.Step("slow", words, at_most_s=0.2))
    assert outcome.failures == ["slow: took too long"]


def test_script_tests_are_counted_from_tap() -> None:
    said = "# tests 5\n# pass 3\n# fail 0\n# skipped 2\n# todo 0\n"
    words = [sys.executable, "-c", f"print({said!r})"]
    outcome = steps.run(steps.Step("scripts", words, counts="tap"))
    assert (outcome.passed, outcome.failed, outcome.skipped) == (3, 0, 2)
    assert outcome.skips


def test_a_test_that_was_skipped_is_named_with_its_reason(tmp_path: Path) -> None:
    tmp_path.joinpath("test_it.py").write_text(
        "import pytest\ndef test_a(): pass\n"
        "def test_b(): pytest.skip('no such machine')\ndef test_c(): assert 0\n"
    )
    words = [str(tmp_path), "-p", "no:cacheprovider", "-q", "-c", "/dev/null"]
    bare = {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    outcome = steps.run(steps.Step("inner", words, bare, counts="pytest"))
    assert (outcome.passed, outcome.failed, outcome.skipped) == (1, 1, 1)
    assert "no such machine" in outcome.skips[0]
    assert outcome.failures == ["inner"]


def test_two_boards_never_take_the_same_port() -> None:
    taken = processes.bind("127.0.0.1", free_port())
    port = taken.getsockname()[1]
    with taken, pytest.raises(processes.PortTaken, match="already listens"):
        processes.bind("127.0.0.1", port)


@pytest.mark.parametrize("port", [0, -1, 70000])
def test_a_port_that_cannot_be_is_refused_not_wrapped(port: int) -> None:
    with pytest.raises(processes.PortTaken, match="There is no port"):
        processes.bind("127.0.0.1", port)


def test_a_host_that_is_not_this_machine_is_said_so() -> None:
    with pytest.raises(processes.PortTaken, match="cannot listen on"):
        processes.bind("192.0.2.1", free_port())  # RFC 5737: nobody's address


@pytest.mark.usefixtures("no_board_settings")
def test_a_folder_that_cannot_be_made_is_said_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(SystemExit, match="cannot live in"):
        environment.choose_environment(["serve", "--folder", str(tmp_path / "file")])
