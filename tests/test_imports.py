"""Imports go down only: the contracts of [tool.importlinter] in pyproject.toml hold, and would notice a breach."""

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
LINT = (sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()", "--no-cache")


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {"PYTHONPATH": str(folder / "service"), "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(LINT, cwd=folder, env=environment, capture_output=True, encoding="utf-8", check=False)


def test_imports_go_down_only() -> None:
    result = lint(ROOT)
    assert result.returncode == 0, result.stdout + result.stderr


def test_an_import_upwards_is_noticed(tmp_path: Path) -> None:
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(ROOT / "service", tmp_path / "service", ignore=shutil.ignore_patterns("__pycache__"))
    with (tmp_path / "service" / "zonule" / "text.py").open("a", encoding="utf-8") as file:
        file.write("import spacy\nimport docx\nfrom zonule import cli\n")
    result = lint(tmp_path)
    assert result.returncode == 1
    assert "Contracts: 0 kept, 3 broken." in result.stdout
