"""The house keeps its own rules: sizes, places, names, and who may write."""

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.template import engines
from django.template.utils import get_app_template_dirs

ROOT = Path(__file__).parents[2]
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "manage.py"),
    *("board", "accounts", "tests", "static", "fixtures", ".ci", ".gitignore"),
    *("pyproject.toml", "requirements.lock", "requirements-test.lock"),
    *("package.json", "package-lock.json", ".npmrc", "biome.json", "tsconfig.json"),
}
LONGEST_PYTHON, LONGEST_JAVASCRIPT = 350, 250
WRITERS = {
    *("save", "create", "delete", "bulk_create", "bulk_update", "get_or_create"),
    *("update_or_create", "create_person"),
}
MAY_WRITE = {
    "actions": "the only code that writes",
    "models": "how a thing saves itself",
    "migrations": "tables change there",
    "repro": "keeps files, leases and its own work, which no person did",
    "management": "commands by whoever runs the board",
    "tasks": "a lease on long work is written by who does the work",
}
NOT_ROOMS = {"imaging", "management", "migrations", "templates", "templatetags"}
NO_ROOM_OF_THEIR_OWN = {
    "house",
    "bench",
    "browser",
    "fixtures",
    "imaging",
    "js",
    "accounts",
}
PICTURES = {".png", ".jpg", ".jpeg", ".webp", ".tif", ".tiff", ".psd", ".heic", ".gif"}
READS_SETTING = re.compile(r'_(?:text|yes|number|words)\("(BOARD_[A-Z_]+)"')


def _kept(*patterns: str) -> list[Path]:
    """Files that git knows or would take, of these patterns."""
    asked = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "--"]
    told = subprocess.run(
        [*asked, *patterns], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return [ROOT / line for line in told.stdout.splitlines() if (ROOT / line).is_file()]


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def _named(paths: list[Path]) -> list[str]:
    return [str(path.relative_to(ROOT)) for path in paths]


def _rooms() -> set[str]:
    there = {path.parent.name for path in (ROOT / "board").glob("*/__init__.py")}
    return there - NOT_ROOMS


pytestmark = pytest.mark.skipif(
    not (ROOT / ".git").exists(), reason="not a checkout: git says which files are ours"
)


def test_no_python_module_is_longer_than_a_person_reads() -> None:
    modules = [path for path in _kept("*.py") if "migrations" not in path.parts]
    ours = [path for path in modules if "bench" not in path.parts]
    assert _named([path for path in ours if _lines(path) > LONGEST_PYTHON]) == []


def test_no_script_is_longer_than_a_person_reads() -> None:
    scripts = _kept("static/js/*.js", "tests/js/*.js")
    assert _named([path for path in scripts if _lines(path) > LONGEST_JAVASCRIPT]) == []


def _writes(path: Path) -> Iterator[str]:
    """Calls in a module that write rows."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        name, on = node.func.attr, ast.unparse(node.func.value)
        rows = "objects" in on or "filter(" in on
        if name in WRITERS or (name == "update" and rows):
            yield f"{path.relative_to(ROOT)}:{node.lineno} {on}.{name}"


def test_only_actions_write() -> None:
    found = []
    for path in _kept("board/*.py", "accounts/*.py"):
        places = {*path.relative_to(ROOT).parts[:-1], path.stem}
        if not places & set(MAY_WRITE):
            found += list(_writes(path))
    assert found == [], "Move the write into the room's actions."


def test_every_template_compiles(subtests: pytest.Subtests) -> None:
    engine = engines["django"]
    folders = [*get_app_template_dirs("templates")]
    ours = [Path(folder) for folder in folders if ROOT in Path(folder).parents]
    names = [
        str(path.relative_to(folder))
        for folder in ours
        if ".venv" not in folder.parts
        for path in folder.rglob("*.html")
    ]
    assert len(names) > 10
    for name in names:
        with subtests.test(name):
            engine.get_template(name)


def test_every_setting_is_listed_in_the_readme() -> None:
    settings = (ROOT / "board/settings.py").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    read = set(READS_SETTING.findall(settings))
    assert read
    assert {name for name in read if name not in readme} == set()


def test_settings_are_read_in_one_place() -> None:
    reads = re.compile(r"(environ|getenv)[^\n]*BOARD_")
    elsewhere = [
        path
        for path in _kept("board/*.py", "accounts/*.py")
        if reads.search(path.read_text(encoding="utf-8"))
        and "management" not in path.parts  # it starts the others, settings and all
        and path.name != "settings.py"
    ]
    assert _named(elsewhere) == []


def test_every_room_is_a_word_of_the_glossary() -> None:
    developers = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    glossary = developers.split("## Glossary")[1].split("\n## ")[0]
    words = {
        word.strip()
        for row in glossary.splitlines()
        if row.startswith("|")
        for word in row.split("|")[1].split(",")
    }
    missing = {
        room
        for room in _rooms()
        if not {room.replace("_", " "), room.replace("_", " ").removesuffix("s")}
        & words
    }
    assert missing == set()


def test_one_word_names_a_noun_in_every_place() -> None:
    rooms = _rooms()
    pages = {
        path.name
        for path in (ROOT / "board/templates/board").iterdir()
        if path.is_dir()
    }
    scripts = {path.name for path in (ROOT / "static/js").iterdir() if path.is_dir()}
    tests = {path.parts[len(ROOT.parts) + 1] for path in _kept("tests/*/*")}
    assert pages - rooms == set()
    assert scripts - rooms - {"lib", "vendor"} == set()
    assert tests - rooms - NO_ROOM_OF_THEIR_OWN == set()


def test_no_picture_lies_in_fixtures_without_its_origin() -> None:
    readme = (ROOT / "fixtures/README.md").read_text(encoding="utf-8")
    pictures = [path for path in _kept("fixtures/*") if path.suffix in PICTURES]
    assert _named([path for path in pictures if path.name not in readme]) == []


def test_the_top_level_is_as_agreed() -> None:
    told = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert {line.split("/")[0] for line in told.stdout.splitlines()} == TOP_LEVEL


def test_nothing_is_named_so_that_anything_fits_in_it() -> None:
    vague = {"utils", "helpers", "common", "manager", "data", "info", "misc"}
    there = _kept("board/*", "accounts/*", "tests/*", "static/js/*", "static/css/*")
    assert _named([path for path in there if {path.stem, *path.parts} & vague]) == []
