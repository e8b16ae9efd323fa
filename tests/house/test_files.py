"""Rules of the house that a reader would otherwise have to check by hand."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import get_commands

from bookings.models import OutboxMessage

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("foraywright", "curriculum", "walks", "bookings")
TEMPLATES = ROOT / "templates"


def sources(*rooms: str) -> Iterator[Path]:
    """Our Python files, migrations left out: those are written by the program."""
    for room in rooms or (*ROOMS, "tests", "tools"):
        for file in sorted((ROOT / room).rglob("*.py")):
            if "migrations" not in file.parts:
                yield file


def module_of(file: Path) -> str:
    parts = file.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


WITHOUT_DJANGO = """
import importlib, sys
sys.modules["django"] = None
for name in sys.argv[1:]:
    importlib.import_module(name)
print(len(sys.argv) - 1, sorted(name for name in sys.modules if name.partition(".")[0] == "django"))
"""


def test_every_computation_is_imported_where_there_is_no_django() -> None:
    pure = [module_of(file) for file in sources(*ROOMS) if "compute" in file.parts]
    command = [sys.executable, "-c", WITHOUT_DJANGO, *pure]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout == f"{len(pure)} ['django']\n"
    assert len(pure) >= 40


CLOCKS = re.compile(r"\b(datetime\.now|utcnow|date\.today|time\.time|timezone\.now|os\.environ|settings\.)")


def test_no_computation_reads_a_clock_or_the_environment() -> None:
    pure = [file for file in sources(*ROOMS) if "compute" in file.parts]
    assert [str(file) for file in pure if CLOCKS.search(file.read_text(encoding="utf-8"))] == []


def test_packages_hold_nothing_in_their_init_but_models_and_policies() -> None:
    full = {str(file.relative_to(ROOT)) for file in sources(*ROOMS) if file.name == "__init__.py" and file.read_bytes()}
    models = {f"{room}/models/__init__.py" for room in ("foraywright/floor", "curriculum", "walks", "bookings")}
    assert full <= models | {"walks/policies/__init__.py"}


def functions(*rooms: str) -> dict[str, int]:
    """Length in lines of every function, decorators and docstring counted."""
    found = {}
    for file in sources(*rooms):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                first = min([node.lineno, *(one.lineno for one in node.decorator_list)])
                found[f"{module_of(file)}.{node.name}:{first}"] = (node.end_lineno or first) - first + 1
    return found


def test_no_file_is_long() -> None:
    long = {str(file): n for file in sources() if (n := len(file.read_text(encoding="utf-8").splitlines())) > 400}
    assert long == {}


def test_functions_are_small(record_property: pytest.FixtureRequest) -> None:
    lengths = functions(*ROOMS)
    ordered = sorted(lengths.values())
    record_property("function lines", {"median": median(ordered), "90 %": ordered[len(ordered) * 9 // 10]})  # type: ignore[operator]
    assert {name for name, lines in lengths.items() if lines > 60} == set()
    assert median(ordered) <= 9
    assert ordered[len(ordered) * 9 // 10] <= 25


@pytest.mark.parametrize("kind", OutboxMessage.Kind.values)
def test_every_letter_has_words_a_text_and_a_page(kind: str) -> None:
    assert all((TEMPLATES / "mail" / f"{kind}.{form}").is_file() for form in ("txt", "html"))
    assert (ROOT / "bookings" / "letter_words" / f"{kind}.md").is_file()


def test_no_letter_is_left_over() -> None:
    there = {file.name.partition(".")[0] for file in (TEMPLATES / "mail").glob("*.*")}
    assert there == {"base", *OutboxMessage.Kind.values}


def test_every_template_is_used() -> None:
    """A template is named by another, by our Python, or by a library that looks for it under that name."""
    named_by_others = ("account/", "allauth/", "mfa/", "bootstrap5/", "mail/", "400", "403", "404", "500")
    text = "\n".join(file.read_text(encoding="utf-8") for file in sources(*ROOMS))
    text += "\n".join(file.read_text(encoding="utf-8") for file in TEMPLATES.rglob("*") if file.is_file())
    names = [file.relative_to(TEMPLATES).as_posix() for file in TEMPLATES.rglob("*") if file.is_file()]
    unused = [name for name in names if name not in text and not name.startswith(named_by_others)]
    assert unused == []


def test_every_part_of_a_letter_is_used() -> None:
    text = "\n".join(file.read_text(encoding="utf-8") for file in (TEMPLATES / "mail").rglob("*") if file.is_file())
    parts = [file.relative_to(TEMPLATES).as_posix() for file in (TEMPLATES / "mail" / "parts").iterdir()]
    assert [name for name in parts if name not in text] == []


def documentation() -> str:
    files = (ROOT / "README.md", ROOT / "DEVELOPERS.md")
    return "\n".join(file.read_text(encoding="utf-8") for file in files if file.is_file())


ENVIRONMENT = re.compile(r"""(?:env\.\w+|environ(?:\.get)?)[(\[]\s*["']([A-Z_]+)["']""")
NOT_FOR_PEOPLE = {"CI", "DJANGO_SETTINGS_MODULE", "FORAYWRIGHT_NO_CHROMIUM"}


def test_every_setting_read_from_the_environment_is_documented() -> None:
    read = {name for file in sources(*ROOMS, "tools") for name in ENVIRONMENT.findall(file.read_text(encoding="utf-8"))}
    assert {"SECRET_KEY", "ALLOWED_HOSTS", "DATABASE_URL", "PORT"} <= read
    assert sorted(name for name in read - NOT_FOR_PEOPLE if name not in documentation()) == []


def test_every_command_is_documented() -> None:
    ours = {
        config.name for config in apps.get_app_configs() if Path(config.path).is_relative_to(ROOT / ".venv") is False
    }
    commands = {name for name, app in get_commands().items() if app in ours and app.partition(".")[0] in ROOMS}
    assert {"load_demo", "load_curriculum", "serve", "work"} <= commands
    assert sorted(name for name in commands if name not in documentation()) == []


def test_every_target_of_the_makefile_is_explained() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z][a-z-]*):", makefile, flags=re.MULTILINE)) - {"help"}
    said = makefile.partition("help:")[2].partition("\n\n")[0]
    assert sorted(name for name in targets if name not in said) == []


def test_every_demo_file_is_read() -> None:
    text = "\n".join(file.read_text(encoding="utf-8") for file in sources("bookings"))
    unread = [file.stem for file in (ROOT / "fixtures_demo").glob("*.toml") if f'"{file.stem}' not in text]
    assert unread == []


def test_the_tests_use_the_same_options_as_the_real_thing() -> None:
    assert settings.DATABASES["default"]["ATOMIC_REQUESTS"] is False
    assert settings.DEBUG is False
