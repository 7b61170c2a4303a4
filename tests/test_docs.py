"""The documentation is true: all that there is appears in it, its examples run, its links lead somewhere."""

import argparse
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

import zonule
from zonule import record
from zonule.cli import build_parser
from zonule.lexicon.schema import Action, Correction, Cue, Frame, Kind, LexiconFile, Mark, Mishearing, Shorthand, Term
from zonule.requirements import RequirementFile

ROOT = Path(__file__).parents[1]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "lexicon/README.md", *sorted((ROOT / "docs").rglob("*.md"))]
SETUP = "bash .ci/setup && "
TEST = "bash .ci/test"


def read(name: str) -> str:
    return (ROOT / name).read_text("utf-8")


def blocks(page: str, language: str) -> list[str]:
    """The code blocks of one language on a page."""
    return re.findall(rf"^```{language}\n(.*?)^```$", page, re.MULTILINE | re.DOTALL)


def lines_of(name: str) -> list[str]:
    """The commands on a page, without comments."""
    lines = [line for block in blocks(read(name), "sh") for line in block.splitlines()]
    return [line.split("  #")[0].rstrip() for line in lines if line and not line.startswith("#")]


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


# ---- commands ------------------------------------------------------------------------------------------------------


def leaves(parser: argparse.ArgumentParser) -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Each command that runs, with its whole name."""
    groups = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
    if not groups:
        yield parser.prog, parser
    for group in groups:
        for child in group.choices.values():
            yield from leaves(child)


COMMANDS = dict(leaves(build_parser()))


def sections() -> dict[str, str]:
    """docs/commands.md by command."""
    parts = re.split(r"^## ", read("docs/commands.md"), flags=re.MULTILINE)[1:]
    return {m.group(1): part for part in parts if (m := re.match(r"`(zonule [a-z ]+[a-z])", part))}


def test_every_command_has_a_section_and_every_section_a_command() -> None:
    assert set(sections()) == set(COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_is_explained_and_no_other(command: str) -> None:
    shared = sections()["zonule read"] if command in ("zonule note", "zonule log") else ""
    options = {o for a in COMMANDS[command]._actions for o in a.option_strings} - {"-h", "--help"}
    tables = re.findall(r"^\| (`-.*?) \|", sections()[command], re.MULTILINE)
    explained = {option for row in tables for option in re.findall(r"(?<![\w-])--?[a-z-]+", row)}
    inherited = {option for option in options - explained if f"`{option} " in shared}
    assert explained | inherited == options


@pytest.mark.parametrize("command", COMMANDS)
def test_every_choice_is_named(command: str) -> None:
    choices = {str(c) for a in COMMANDS[command]._actions for c in a.choices or () if a.option_strings}
    assert [c for c in sorted(choices) if f"`{c}`" not in sections()[command]] == []


def test_every_setting_is_explained() -> None:
    code = "".join(p.read_text("utf-8") for p in (ROOT / "service").rglob("*.py"))
    used = set(re.findall(r"\bZONULE_[A-Z_]+\b", code))
    assert used == set(re.findall(r"^\| `(ZONULE_[A-Z_]+)` \|", read("docs/commands.md"), re.MULTILINE))


# ---- lexicon and record --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("table", [Term, Action, Frame, Cue, Correction, Mark, Mishearing, Shorthand])
def test_every_lexicon_table_and_key_is_explained(table: type[BaseModel]) -> None:
    page = read("docs/lexicon.md")
    section = next(s for s in page.split("\n### ") if s.startswith(f"`[[{table.__name__.lower()}]]`"))
    everywhere = {"id", "forms", "source", "note"}
    assert [key for key in table.model_fields if f"`{key}`" not in section and key not in everywhere] == []


def test_every_top_level_table_is_named() -> None:
    pages = "".join(p.read_text("utf-8") for p in PAGES)
    tables = [*LexiconFile.model_fields, *RequirementFile.model_fields]
    keys = {"kind", "source", "note"}
    written = {name: (f"[[{name}]]", f"[{name}]") for name in tables if name not in keys}
    assert [name for name, forms in written.items() if not any(form in pages for form in forms)] == []


def test_every_kind_of_term_is_named() -> None:
    assert [kind for kind in get_args(Kind) if f"`{kind}`" not in read("docs/lexicon.md")] == []


def test_every_table_of_the_number_files_is_named() -> None:
    page = read("docs/lexicon.md")
    for name in ("numbers", "dates", "units"):
        data = tomllib.loads(read(f"lexicon/common/{name}.toml"))
        tables = [key for key, value in data.items() if not isinstance(value, str)]
        assert [table for table in tables if f"[{table}]" not in page] == []


def test_every_lexicon_file_has_its_line() -> None:
    files = {path.name for path in (ROOT / "lexicon").rglob("*.toml")}
    assert set(re.findall(r"^\| `(\w+\.toml)` \|", read("lexicon/README.md"), re.MULTILINE)) == files


def test_every_field_of_the_record_is_named() -> None:
    page = read("docs/record.md")
    models = [m for m in vars(record).values() if isinstance(m, type) and issubclass(m, BaseModel)]
    models = [m for m in models if m.__name__ not in ("Gap", "GapReport")]
    assert len(models) > 20
    assert [m.__name__ for m in models if f"`{m.__name__}`" not in page] == []
    rows = dict(re.findall(r"^\| `(\w+)`[^|]* \| (.*) \|$", page, re.MULTILINE))
    fact = page.split("## 2.")[0]
    wrong = [
        f"{m.__name__}.{field}"
        for m in models
        for field in m.model_fields
        if f"`{field}`" not in rows.get(m.__name__, fact)
    ]
    assert wrong == []


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_toml_examples_are_sound(path: Path) -> None:
    for block in blocks(path.read_text("utf-8"), "toml"):
        data = tomllib.loads(block)
        schema = LexiconFile if set(data) <= set(LexiconFile.model_fields) else RequirementFile
        schema.model_validate(data)


# ---- links, rooms, versions ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_links_lead_somewhere(path: Path) -> None:
    prose = re.sub(r"```.*?```|`[^`]*`", "", path.read_text("utf-8"), flags=re.DOTALL)
    links = re.findall(r"\]\(([^)#:]+)\)", prose)
    assert [link for link in links if not (path.parent / link).exists()] == []


def test_every_room_is_in_the_table() -> None:
    package = ROOT / "service" / "zonule"
    rooms = {p.stem for p in package.glob("*.py")} | {p.parent.name for p in package.glob("*/__init__.py")}
    table = re.findall(r"^\| (`.*?) \|", read("DEVELOPERS.md"), re.MULTILINE)
    assert {name for row in table for name in re.findall(r"`(\w+)`", row)} == rooms - {"__init__"}


def test_every_library_is_decided_on() -> None:
    project = tomllib.loads(read("pyproject.toml"))["project"]
    names = [re.split(r"[<>=]", d)[0] for d in (*project["dependencies"], *project["optional-dependencies"]["labels"])]
    decisions = "".join(p.read_text("utf-8") for p in (ROOT / "docs" / "decisions").glob("*.md")).lower()
    assert [name for name in names if name.lower() not in decisions] == []


def test_the_changelog_knows_this_version() -> None:
    assert re.findall(r"^## (.*)$", read("docs/changelog.md"), re.MULTILINE)[0] == zonule.__version__
    assert tomllib.loads(read("pyproject.toml"))["project"]["version"] == zonule.__version__


# ---- examples ------------------------------------------------------------------------------------------------------


def test_continuous_integration_runs_the_command_of_the_readme() -> None:
    assert TEST in lines_of("README.md")
    assert read(".ci/run").splitlines()[-1] == TEST


@pytest.mark.parametrize("name", ["README.md", "docs/commands.md"])
def test_the_commands_on_the_page_run(name: str, tmp_path: Path) -> None:
    """In an empty folder with the samples in it. `.ci/setup` made this environment; `.ci/test` is running now."""
    (tmp_path / "samples").symlink_to(ROOT / "samples")
    (tmp_path / ".venv").symlink_to(sys.prefix)
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    lines = [line.removeprefix(SETUP) for line in lines_of(name) if line != TEST]
    assert len(lines) > 3
    for line in lines:
        shell = ["bash", "-euo", "pipefail", "-c", line]
        done = subprocess.run(shell, cwd=tmp_path, env={**os.environ, "PATH": path}, capture_output=True, text=True)
        assert (done.returncode, done.stderr) == (0, ""), line
        assert done.stdout or "> " in line, line
        written = re.findall(r"(?:-o|>) (\S+\.\w+)", line)
        assert [file for file in written if not (tmp_path / file).is_file()] == []
